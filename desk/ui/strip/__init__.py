"""The film to scale along the foot of the window."""
