"""The rinse helper."""
