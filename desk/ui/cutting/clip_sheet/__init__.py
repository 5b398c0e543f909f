"""What is selected in a cut, as fields."""
