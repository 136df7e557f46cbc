"""What a form begins with, and the day card."""
