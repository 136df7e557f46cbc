"""The colors of a job: read, learned, forecast."""
