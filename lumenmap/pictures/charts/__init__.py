"""Charts of effects and palettes."""
