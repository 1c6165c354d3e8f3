"""Stage 3: a show file becomes a Show: cues, layers, effects from the registry."""
