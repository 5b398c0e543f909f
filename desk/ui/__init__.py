"""The window: what the person sees of a film, and does with it."""
