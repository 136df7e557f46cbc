"""The demo: an invented shop."""
