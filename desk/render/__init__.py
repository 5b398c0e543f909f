"""Plan, pieces, cache, run."""
