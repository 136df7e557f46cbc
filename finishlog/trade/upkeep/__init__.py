"""What falls due on a slab, in which season, and the weeks the shop does it."""
