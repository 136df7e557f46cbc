"""Shelf: what is left, lot by lot."""
