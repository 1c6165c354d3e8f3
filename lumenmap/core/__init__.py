"""The base of every stage: units, errors, reading TOML, writing whole files."""
