"""The voices of a scene: who speaks, how loud, what is done to each voice, and bringing them level."""
