"""The outside of a house: all its masses as one solid."""
