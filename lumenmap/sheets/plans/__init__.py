"""Plan and elevations of the house with its pixels."""
