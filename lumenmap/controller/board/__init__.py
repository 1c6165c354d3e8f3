"""A player for the board: C sources, the folder they are written out as, the year's table."""
