"""Pigments in cement: from doses to a color and back."""
