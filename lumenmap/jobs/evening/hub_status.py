"""An evening's status, as a home hub is told of it."""

from __future__ import annotations

from lumenmap.hub.client import Hub
from lumenmap.hub.messages import Light
from lumenmap.jobs.evening.status import Status
from lumenmap.jobs.evening.status_words import words


class HubStatus:
    """Tells a hub each status that is written."""

    def __init__(self, hub: Hub) -> None:
        self.hub = hub

    def __call__(self, status: Status) -> None:
        """Tell it, if it is there."""
        self.hub.tell(light_of(status))


def light_of(status: Status) -> Light:
    """Return what a hub shows of a status."""
    playing = status.playing
    away = any(c.state in ("no sign", "refuses") for c in status.network)
    shown = status.model_dump(
        mode="json", include={"state", "next_change", "amps", "network", "problems"}
    )
    for row in shown["network"]:  # what changes every second isn't worth a message
        row.pop("sent"), row.pop("lost")
    for supply in shown["amps"]:
        supply.pop("now")
    return Light(
        on=playing is not None,
        brightness=playing.brightness if playing else 0.0,
        show=playing.title if playing else "",
        text=words(status, status.time)[0][:250],
        problem=bool(status.problems) or away,
        details=shown,
    )
