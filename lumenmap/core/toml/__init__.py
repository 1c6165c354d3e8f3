"""Files in TOML: read, checked against their models, every mistake with its key and line."""
