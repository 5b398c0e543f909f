"""The film's own sheet."""
