"""Light on the scene: lamps, shadows, surfaces, tone."""
