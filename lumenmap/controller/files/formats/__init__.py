"""Frame file formats: one file, one format, one function of the same name."""
