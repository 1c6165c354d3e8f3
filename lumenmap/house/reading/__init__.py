"""A house file read: house.toml to `House`."""
