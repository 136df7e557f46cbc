"""Who gets in, and what is refused before any page is asked."""
