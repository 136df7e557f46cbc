"""A whole log in open formats, and back."""
