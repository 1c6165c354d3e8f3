"""Rails to cut and drill."""
