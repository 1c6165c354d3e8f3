"""The files that a new folder starts with: commented, and ready to run."""
