"""Shared by the commands that send: their options, and stopping on a signal."""

from __future__ import annotations

import contextlib
import logging
import os
import signal
import sys
import threading
from collections.abc import Callable, Iterator
from datetime import UTC, datetime, tzinfo
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

if TYPE_CHECKING:
    from lumenmap.controller.e131.packets import Source
    from lumenmap.controller.e131.sender import Sender
    from lumenmap.controller.files.frameset import FrameSet
    from lumenmap.controller.ways import Feed
    from lumenmap.pixels.universes import Universe

To = Annotated[
    list[str] | None,
    typer.Option(
        "--to",
        metavar="ADDRESS",
        help="The controller's address, with :PORT if need be, or LINE=ADDRESS for one data line. "
        "May be repeated. artnet:ADDRESS, ddp:ADDRESS or serial:PORT,BAUD is another protocol.",
    ),
]
Multicast = Annotated[
    bool,
    typer.Option(
        "--multicast",
        help="Send each universe to its multicast group. For wired networks; multicast is "
        "unreliable on Wi-Fi.",
    ),
]
Ipv6 = Annotated[
    bool,
    typer.Option("--ipv6", help="With --multicast: use the IPv6 groups; needs --interface."),
]
Port = Annotated[int, typer.Option(help="UDP port of the controller.")]
Interface = Annotated[
    str,
    typer.Option(
        metavar="NAME",
        help="Network interface for multicast: its name, such as eth0, or its IPv4 address.",
    ),
]
Priority = Annotated[
    int,
    typer.Option(help="0 to 200. Receivers follow the source with the highest.", min=0, max=200),
]
SourceName = Annotated[
    str,
    typer.Option(
        "--name", help="Source name that receivers display; by default the house's folder."
    ),
]
Sound = Annotated[
    bool,
    typer.Option(
        "--sound",
        help="Play the show's sound file on this computer, in step with the light.",
    ),
]
Sync = Annotated[
    int,
    typer.Option(
        metavar="UNIVERSE",
        help="With --multicast: universe for synchronisation packets; 0 for none.",
    ),
]
Steady = Annotated[
    bool, typer.Option("--steady", help="Send every frame, even if nothing changed.")
]


#: A person on a ladder comes before a show that somebody watches, and that before the evening:
#: receivers follow the highest (E1.31 6.2.3).
STREAM_PRIORITY, LOCATE_PRIORITY = 110, 150


class StopSignal:
    """Ctrl-C or SIGTERM: the stream then ends, and tells the receivers so."""

    def __init__(self) -> None:
        self._event = threading.Event()
        for number in (signal.SIGINT, signal.SIGTERM):
            signal.signal(number, lambda *_: self._event.set())

    def __call__(self) -> bool:
        """Return whether the signal has come."""
        return self._event.is_set()

    def wait(self, seconds: float) -> None:
        """Wait for so long (s), or until the signal."""
        self._event.wait(seconds)


def stream_source(house: Path | None, name: str, priority: int, voice: str) -> Source:
    """Return the source of a command's streams to a house: its CID, a name and a priority."""
    from lumenmap.controller.e131.cid import house_cid
    from lumenmap.controller.e131.packets import Source

    home = house if house is not None else Path.cwd()
    own = f"lumenmap {home.resolve().parent.name}".encode()[:63].decode(errors="ignore")
    return Source(house_cid(home, voice), name or own, priority)


def send_pattern(house: Path, frames: FrameSet, given: Feed, interface: str, how: str) -> None:
    """Send frames to a house again and again until Ctrl-C; whoever holds its wire lends it.

    Raises
    ------
    Exit
        No controller ever gave a sign of being there.
    """
    from lumenmap.controller.e131.stream import Stream
    from lumenmap.jobs.wire import Wire, wire_folder

    given.check()
    universes = given.way.plan(frames.lines, frames.channels)
    routed = given.routes(universes)
    given.check_speed(universes, frames.fps)
    stop = StopSignal()
    sender = given.sender(interface)
    with Wire(wire_folder(house), "locate") as wire:
        log(how)
        try:
            source = stream_source(house, "", LOCATE_PRIORITY, "locate")
            stream = Stream(source, routed, sender, notify=log)
            stream.play(frames, loop=True, stop=stop, dark=not wire.borrowed)
        except BaseException:
            sender.close()
            raise
    exit_if_silent(sender)


def exit_if_silent(sender: Sender) -> None:
    """Exit with code 1 if no controller ever gave a sign of being there; close the sender."""
    from lumenmap.controller.e131.addresses import shown
    from lumenmap.controller.e131.sender import UdpSender

    silent = []
    if isinstance(sender, UdpSender):  # a serial line can't tell
        sender.settle()
        silent = sender.silent
    sender.close()
    for target in silent:
        log(f"nothing answered at {shown(target.given)}: {target.last}")
    if silent:
        raise typer.Exit(1)


def log(text: str) -> None:
    """Print a message to the terminal, apart from the result."""
    print(text, file=sys.stderr, flush=True)


def log_with_time(text: str, zone: tzinfo | None = None) -> None:
    """Print a message with the day and time, for those who read it the next morning.

    ``zone`` is the house's, whose times are in the message; the machine's own may be another.
    The journal of systemd has them already; JOURNAL_STREAM says that it is what listens
    (systemd.exec(5) [P]).
    """
    if "JOURNAL_STREAM" in os.environ:
        log(text)
    else:
        log(f"{datetime.now(UTC).astimezone(zone):%Y-%m-%d %H:%M:%S}  {text}")


class _WithTime(logging.Handler):
    def __init__(self, zone: tzinfo | None) -> None:
        super().__init__()
        self._zone = zone

    def emit(self, record: logging.LogRecord) -> None:
        log_with_time(record.getMessage(), self._zone)


@contextlib.contextmanager
def notices_with_time(zone: tzinfo | None = None) -> Iterator[None]:
    """Have what goes wrong beside the work told as `log_with_time` tells of the work itself."""
    logger, handler = logging.getLogger("lumenmap"), _WithTime(zone)
    logger.addHandler(handler)
    before, logger.propagate = logger.propagate, False
    try:
        yield
    finally:
        logger.propagate = before
        logger.removeHandler(handler)


def tell_flashing(frames: FrameSet) -> None:
    """Say that frames flash, and why they may."""
    found = frames.meta.get("flashing") or []
    if found:
        because = frames.meta.get("flashing_because", "")
        log(f'FLASHING: {found[0]}. Its file says why it may: "{because}"')


def universe_table(universes: tuple[Universe, ...], address: Callable[[int], str]) -> list[str]:
    """Return the universe table as lines."""
    rows = [("universe", "line", "pixels", "slots", "to")]
    for k, u in enumerate(universes):
        pixels = f"{u.start + 1}-{u.start + u.count}"
        rows.append((str(u.number), u.line, pixels, str(u.slots), address(k)))
    widths = [max(len(row[i]) for row in rows) for i in range(4)]
    return [
        "  ".join([*(c.ljust(w) for c, w in zip(row, widths, strict=False)), row[4]])
        for row in rows
    ]
