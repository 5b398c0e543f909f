"""Finding where a separate recording belongs."""
