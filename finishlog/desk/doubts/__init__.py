"""Questions about an entry before saving: odd, duplicate, against a product sheet."""
