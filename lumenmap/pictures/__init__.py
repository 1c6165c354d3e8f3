"""Pictures of the house at night: scene, light, encoders, charts."""
