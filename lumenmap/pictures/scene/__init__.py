"""What stands in the picture, and the camera that sees it."""
