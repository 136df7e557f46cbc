"""A paper log comes in: its file, its columns, what would come in."""
