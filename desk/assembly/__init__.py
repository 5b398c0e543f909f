"""Everything that is made from the film at one moment."""
