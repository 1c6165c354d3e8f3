"""Named points of the house, marked on a photograph, and the camera that follows from them."""
