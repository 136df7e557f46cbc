"""What falls due on a slab, in which season, and the weeks in which the shop does it."""
