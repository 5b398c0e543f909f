"""The sheet of a scene, in the order of the craft."""
