"""Tables and rows, the same in every engine: what stands in them, its types, the last check before it is kept."""
