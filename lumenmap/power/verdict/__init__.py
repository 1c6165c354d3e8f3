"""The verdict on a house's wiring: what is dangerous, what was accepted, and what to do."""
