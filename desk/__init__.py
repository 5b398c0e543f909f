"""Assembly Desk: scenes that are really finished, in order, made into a review copy."""

__version__ = "0.1.0"
