"""Finds jobs by words, color and due work, with the projections that make it fast."""
