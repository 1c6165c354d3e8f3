"""Effects that fill the house: still or slowly changing, colour everywhere."""
