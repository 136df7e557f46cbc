"""Frozen values that cross every border."""
