"""How a color moves with age, learned from slabs that were read, and what may be promised of the next."""
