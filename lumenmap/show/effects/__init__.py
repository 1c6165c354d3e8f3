"""The effects that there are: found, loaded, and their options read from their signatures."""
