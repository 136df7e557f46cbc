"""What is due: Today, Care and its letters, the week plan."""
