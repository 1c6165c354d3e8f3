"""Light in the scene: lamps, shadows, surfaces, tone."""
