"""Initial values of forms, and the day card."""
