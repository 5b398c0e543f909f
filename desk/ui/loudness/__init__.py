"""How loud scenes and the film are, measured beside the window and shown."""
