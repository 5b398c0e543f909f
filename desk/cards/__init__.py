"""Cards and slates drawn to pictures."""
