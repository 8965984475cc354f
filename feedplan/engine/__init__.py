"""The pure pass: collection, journal, today and horizon in; the season with its reasons out."""
