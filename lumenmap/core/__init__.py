"""What every stage stands on: units, errors, reading TOML, whole-file writing."""
