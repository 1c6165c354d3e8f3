"""Every evening: what plays, made ready, sent and watched, until somebody stops it."""
