"""The pour runs short: where to stop, and the load that matches."""
