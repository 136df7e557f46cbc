"""A finish as it was placed, reckoned from a job's entries."""
