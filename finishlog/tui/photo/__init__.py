"""Photos: taken in, listed, boxed and read."""
