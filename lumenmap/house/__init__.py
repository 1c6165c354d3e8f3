"""From a house file to `House`: masses, edges, rails, lines, feeds, supplies."""
