"""The files that a new folder starts with: commented, and running as they stand."""
