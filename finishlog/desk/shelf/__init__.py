"""The shelf: what stands there, what is needed of it, what it costs."""
