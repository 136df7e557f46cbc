"""A paper log or spreadsheet as found: columns, days, cells."""
