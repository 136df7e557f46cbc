"""Bench: quantities without a job."""
