"""Jobs: found, laid open, edited; the shop's settings."""
