"""Sealer: gallons by coat, the film on a slab, compatibility."""
