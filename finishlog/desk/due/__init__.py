"""What is due: today, the evening before, the book of reseals."""
