"""Stage 1: a house file becomes a House: masses, edges, rails, lines, feeds, supplies."""
