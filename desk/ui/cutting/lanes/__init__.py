"""The lanes of a scene: drawn to scale, and cut with the pointer."""
