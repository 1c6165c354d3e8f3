"""Commands that read sound."""
