"""What is wired otherwise than the map says, as a film shows it."""
