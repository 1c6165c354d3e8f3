"""What is said over MQTT: topics, states, commands, and the messages by which hubs find a light.

All topics lie below ``lumenmap/NAME``. Commands and states of the light are JSON objects with
``state`` (ON or OFF), ``brightness`` (0 to 100) and ``effect`` (a show), as hubs commonly expect of
a light. The discovery messages follow the openly published convention
``PREFIX/COMPONENT/ID/config`` with a JSON description [M]; which PREFIX a hub listens to, its
manual says. Nothing here opens a connection.
"""

from __future__ import annotations

import json
import re
from dataclasses import dataclass, field
from typing import Any, Literal

from pydantic import BaseModel, ConfigDict, Field, ValidationError

from lumenmap.core.errors import InputError

ONLINE, OFFLINE = "online", "offline"
#: A brightness of all there is.
FULL = 100
_LARGEST = 4096  # bytes of a command


class Command(BaseModel):
    """What a hub asks of the light; what it leaves out stays as it is."""

    model_config = ConfigDict(extra="ignore", frozen=True)

    state: Literal["ON", "OFF"] = "ON"
    brightness: float | None = Field(None, ge=0, le=FULL)
    effect: str | None = Field(None, max_length=200)


@dataclass(frozen=True, slots=True)
class Light:
    """What the light does now.

    Attributes
    ----------
    brightness
        0..1.
    text, details, problem
        In words, as data, and whether anything is wrong.
    """

    on: bool
    brightness: float = 1.0
    show: str = ""
    text: str = ""
    problem: bool = False
    details: dict[str, Any] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Topics:
    """The topics of one house.

    Parameters
    ----------
    name
        The house's, as `topic_name` makes it.
    """

    name: str

    @property
    def _base(self) -> str:
        return f"lumenmap/{self.name}"

    @property
    def command(self) -> str:
        """Where commands come from."""
        return f"{self._base}/light/set"

    @property
    def available(self) -> str:
        """Whether `lumenmap run` is connected."""
        return f"{self._base}/available"

    def states(self, light: Light) -> dict[str, str]:
        """Return each state topic with its payload."""
        state = {
            "state": "ON" if light.on else "OFF",
            "brightness": round(FULL * light.brightness),
            "color_mode": "brightness",
            "effect": light.show,
        }
        return {
            f"{self._base}/light": json.dumps(state),
            f"{self._base}/text": light.text,
            f"{self._base}/problem": "ON" if light.problem else "OFF",
            f"{self._base}/status": json.dumps(light.details),
        }

    def discovery(self, prefix: str, title: str, shows: list[str]) -> dict[str, str]:
        """Return the messages by which a hub finds the light, its status and its problems."""
        about: dict[str, Any] = {
            "availability_topic": self.available,
            "payload_available": ONLINE,
            "payload_not_available": OFFLINE,
            "device": {"identifiers": [f"lumenmap-{self.name}"], "name": title},
            "origin": {"name": "lumenmap"},
        }
        light: dict[str, Any] = {
            "name": None,
            "schema": "json",
            "command_topic": self.command,
            "state_topic": f"{self._base}/light",
            "brightness": True,
            "brightness_scale": FULL,
            "supported_color_modes": ["brightness"],
            "effect": True,
            "effect_list": shows,
        }
        text: dict[str, Any] = {
            "name": "Tonight",
            "state_topic": f"{self._base}/text",
            "json_attributes_topic": f"{self._base}/status",
        }
        problem: dict[str, Any] = {
            "name": "Problem",
            "state_topic": f"{self._base}/problem",
            "device_class": "problem",
        }
        parts = {"light": light, "sensor": text, "binary_sensor": problem}
        return {
            f"{prefix}/{kind}/lumenmap-{self.name}/config": json.dumps(
                {**about, **part, "unique_id": f"lumenmap-{self.name}-{kind}"}
            )
            for kind, part in parts.items()
        }


def topic_name(text: str) -> str:
    """Return a name that can be a level of a topic (MQTT 5.0, 4.7): letters, digits, - and _."""
    return re.sub(r"[^a-z0-9_]+", "-", text.lower()).strip("-")[:40] or "house"


def read_command(payload: bytes) -> Command:
    """Read a command.

    Raises
    ------
    InputError
        It isn't one.
    """
    if payload.strip().upper() in (b"ON", b"OFF"):
        payload = json.dumps({"state": payload.strip().upper().decode()}).encode()
    if len(payload) > _LARGEST:
        raise InputError(f"has {len(payload)} bytes; expected {_LARGEST} at most")
    try:
        return Command.model_validate_json(payload)
    except ValidationError as error:
        first = error.errors(include_url=False)[0]
        raise InputError(f"isn't a command: {first['msg']}", key=str(first["loc"][-1:])) from None
