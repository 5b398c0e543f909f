"""The sheet of a card."""
