"""The files of a scene, and what is done with them."""
