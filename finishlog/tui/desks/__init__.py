"""What screens ask of the log, always in workers; the answers are plain values."""
