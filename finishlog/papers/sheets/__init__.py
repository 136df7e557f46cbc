"""The sheets of a plan and of a job, one module each."""
