"""A photograph of the house as a stage: shows are drawn on it."""
