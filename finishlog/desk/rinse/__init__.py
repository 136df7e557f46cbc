"""Rinse day: how much release is left."""
