"""Pictures of the house: camera, scene, lamps, GIF."""
