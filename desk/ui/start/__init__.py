"""The page that the program starts with, and making a new film."""
