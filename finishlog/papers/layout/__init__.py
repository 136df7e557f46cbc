"""Layout of every sheet: ink, type and columns."""
