"""Music and effects of a scene: cues, what is tried for them, and spots."""
