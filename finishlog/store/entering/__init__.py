"""Records to rows: what is found again or made, and what its being there changes."""
