"""Release that is left on a slab: on rinse day, and once the color has settled."""
