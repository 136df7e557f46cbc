"""Photos of a job, and colors read off them."""
