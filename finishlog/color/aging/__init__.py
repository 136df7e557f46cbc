"""How color changes with age, learned from read slabs, and what may be promised for the next."""
