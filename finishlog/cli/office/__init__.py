"""Commands for the office: care, the shelf, the shop."""
