"""finishlog: a recipe and color log for decorative concrete."""

__version__ = "0.1.0"
