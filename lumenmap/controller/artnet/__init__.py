"""Art-Net: frames as ArtDmx packets."""
