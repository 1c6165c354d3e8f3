"""What a film says by itself: its camera, the holes as it sees them, and its spots of light."""
