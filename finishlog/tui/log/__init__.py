"""Logging: which kind, one entry, a whole pour on a card, the small forms of a job."""
