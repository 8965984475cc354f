"""The phone's side: calendars to subscribe to, pages to read and record on, from one small server or as files."""
