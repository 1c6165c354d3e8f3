"""Commands that rewrite people's own files."""
