"""Release left on a slab: on rinse day, and at the final color."""
