"""Tables that are read as they are."""
