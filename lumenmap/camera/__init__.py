"""The real house: its camera, its wiring as a film shows it, and shows on its photograph."""
