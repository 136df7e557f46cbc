"""The parts of a plan, the plan in words and as JSON, as a job keeps it."""
