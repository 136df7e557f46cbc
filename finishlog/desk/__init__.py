"""The work itself: what the shop asks, answered from the log."""
