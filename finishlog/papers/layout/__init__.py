"""Ink, type and columns: what every sheet is laid out with."""
