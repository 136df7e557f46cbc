"""Sealer: gallons by coat, the film on a slab, which goes on which."""
