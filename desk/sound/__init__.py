"""Reading, placing and mixing sound."""
