"""Finding jobs by words, by color and by what falls due, and the projections that make it quick."""
