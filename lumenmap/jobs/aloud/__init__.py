"""The sound of a show, played in a process of its own in step with the light."""
