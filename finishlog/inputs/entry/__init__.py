"""What can be logged, declared once: entries, their details, materials, moves on the shelf."""
