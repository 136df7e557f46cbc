"""Rows to records: whole jobs, and what all jobs together tell."""
