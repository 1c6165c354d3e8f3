"""Frame files, their formats, and reading them back."""
