"""Built-in effects: one file, one pure function of the same name."""
