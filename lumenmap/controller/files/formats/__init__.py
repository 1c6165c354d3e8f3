"""Frame file formats: one per file, a function of the same name."""
