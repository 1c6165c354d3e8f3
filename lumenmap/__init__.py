"""lumenmap: compose, check and export light for addressable LED pixels on a real roofline."""
