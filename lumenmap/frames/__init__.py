"""Show and pixel map to blocks of light."""
