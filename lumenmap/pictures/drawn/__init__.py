"""Pictures drawn from the light: transport and exposure, kept for next time; frames; tone curve."""
