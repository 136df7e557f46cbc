"""Color, pure: notation, photos, aging, pigments, what is left of the release."""
