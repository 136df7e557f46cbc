"""A paper log or spreadsheet as it comes: its columns, its days, its cells."""
