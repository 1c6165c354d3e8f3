"""DDP: frames as numbered stretches of codes."""
