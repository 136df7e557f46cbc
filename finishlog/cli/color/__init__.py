"""Commands on color: read, by age, the rinse, a blend."""
