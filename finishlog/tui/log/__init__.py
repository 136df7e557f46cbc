"""Logging: pick a kind, log an entry, a whole pour's card, the small forms."""
