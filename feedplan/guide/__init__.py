"""The guide: what a grower wants to do, page by page, as Markdown that ships with the program."""
