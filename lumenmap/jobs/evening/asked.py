"""What `play_evenings` is asked to play, where its state is kept, what the packets leave by."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from pathlib import Path

from lumenmap.controller.e131.options import StreamOptions
from lumenmap.controller.e131.packets import Source
from lumenmap.controller.e131.sender import Sender
from lumenmap.controller.ways import Feed
from lumenmap.core.errors import InputError
from lumenmap.core.service import ServiceManager
from lumenmap.hub.address import Broker
from lumenmap.jobs.wire import FOLDER


@dataclass(frozen=True, slots=True)
class Evenings:
    """What to play, and how it is sent.

    Attributes
    ----------
    source
        Makes the stream's source for a house.
    hub, discovery
        A home hub's broker, and the prefix of the messages by which it finds the light.
    sound
        Whether the sound of shows that have one is played on this computer.
    network
        Whose controllers are asked by Art-Net whether they are there; empty: none.
    """

    almanac: Path
    feed: Feed
    source: Callable[[Path], Source]
    interface: str = ""
    options: StreamOptions = field(default_factory=StreamOptions)
    state: Path | None = None
    effect_folders: Iterable[Path] = ()
    hub: Broker | None = None
    discovery: str = ""
    sound: bool = False
    network: str = ""


def state_folder(almanac: Path, state: Path | None = None) -> Path:
    """Return where an evening keeps its state: ``.lumenmap`` next to the almanac, if not given."""
    return state or almanac.parent / FOLDER


def open_sender(
    asked: Evenings,
    stop: Callable[[], bool],
    wait: Callable[[float], None],
    log: Callable[[str], None],
) -> Sender:
    """Open what the packets leave by; a service waits for an adapter that isn't there yet."""
    manager, pause = ServiceManager(), 1.0
    while True:
        try:
            return asked.feed.sender(asked.interface)
        except InputError as error:
            if not manager.there or stop():
                raise
            if pause == 1:
                log(f"{error}; waiting for it")
                manager.ready()
            manager.alive()
            wait(pause)
            pause = min(2 * pause, 30.0)
