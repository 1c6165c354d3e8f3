"""The effects' vocabulary: places, options, easing, waves, noise, chance, distance."""
