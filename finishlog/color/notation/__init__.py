"""A color as numbers and as words: L*a*b*, sRGB, Munsell, names, differences."""
