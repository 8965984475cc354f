"""The climate folder: weather tables and station records."""
