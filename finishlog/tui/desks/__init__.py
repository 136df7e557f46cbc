"""What the screens ask of the log, called in workers, and what they get: plain values."""
