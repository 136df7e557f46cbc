"""What a log knows of itself: its identity, a chained hash per entry, a hash per other row."""
