"""The dialog that makes an assembly, and what shows how far it is."""
