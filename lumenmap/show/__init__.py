"""A show file becomes a Show: cues, layers, and effects from the registry."""
