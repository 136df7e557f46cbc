"""Entries kept, corrected, undone, moved."""
