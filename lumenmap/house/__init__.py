"""`House`: masses, edges, rails, lines, supplies and what feeds from them, in SI units."""
