"""Importing a paper log: file, columns, preview."""
