"""Rows to records: whole jobs, and queries over all jobs."""
