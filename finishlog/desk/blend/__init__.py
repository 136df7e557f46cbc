"""The dose for a wanted color, from samples."""
