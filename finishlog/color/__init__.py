"""Color, pure: notation, photos, aging, pigments, release left."""
