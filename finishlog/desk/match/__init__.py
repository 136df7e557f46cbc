"""The plan for a matching addition made: what differs, the sample, the dose, the odds."""
