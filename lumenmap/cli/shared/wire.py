"""What the commands that send have in common: their options, and stopping politely."""

from __future__ import annotations

import signal
import sys
import threading
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

if TYPE_CHECKING:
    from lumenmap.controller.e131.packets import Source
    from lumenmap.pixels.universes import Universe

To = Annotated[
    list[str] | None,
    typer.Option(
        "--to",
        metavar="ADDRESS",
        help="The controller's address; or LINE=ADDRESS for "
        "one data line. May be given more than once.",
    ),
]
Multicast = Annotated[
    bool,
    typer.Option(
        "--multicast",
        help="Send each universe to its multicast group. For wired "
        "networks: Wi-Fi carries multicast badly.",
    ),
]
Ipv6 = Annotated[
    bool,
    typer.Option("--ipv6", help="With --multicast: the groups of IPv6; wants an --interface."),
]
Port = Annotated[int, typer.Option(help="UDP port of the receivers.")]
Interface = Annotated[
    str,
    typer.Option(
        metavar="NAME",
        help="Network interface that multicast leaves by, as eth0; or its own IPv4 address.",
    ),
]
Priority = Annotated[
    int, typer.Option(help="0 to 200; of several sources the highest is shown.", min=0, max=200)
]
SourceName = Annotated[
    str, typer.Option("--name", help="Source name that receivers show; the house's if left out.")
]
Sync = Annotated[
    int,
    typer.Option(
        metavar="UNIVERSE",
        help="Send synchronisation packets on this universe (with --multicast); 0 for none.",
    ),
]
Steady = Annotated[
    bool, typer.Option("--steady", help="Send still frames too, not only a keep-alive.")
]


class Stopping:
    """Ctrl-C and SIGTERM ask to stop; the stream then says goodbye to the receivers."""

    def __init__(self) -> None:
        self._event = threading.Event()
        for number in (signal.SIGINT, signal.SIGTERM):
            signal.signal(number, lambda *_: self._event.set())

    def __call__(self) -> bool:
        """Return whether stopping was asked for."""
        return self._event.is_set()

    def wait(self, seconds: float) -> None:
        """Wait, or until stopping is asked for."""
        self._event.wait(seconds)


def source(house: Path | None, name: str, priority: int) -> Source:
    """Return who sends: the house's kept CID, and its name."""
    from lumenmap.controller.e131.cid import house_cid
    from lumenmap.controller.e131.packets import Source

    home = house if house is not None else Path.cwd()
    own = f"lumenmap {home.resolve().parent.name}".encode()[:63].decode(errors="ignore")
    return Source(house_cid(home), name or own, priority)


def told(text: str) -> None:
    """Say what happens while it happens, apart from the result."""
    print(text, file=sys.stderr, flush=True)


def table(universes: tuple[Universe, ...], where: Callable[[int], str]) -> list[str]:
    """Return the universe table as lines."""
    rows = [("universe", "line", "pixels", "slots", "to")]
    for k, u in enumerate(universes):
        pixels = f"{u.start + 1}-{u.start + u.count}"
        rows.append((str(u.number), u.line, pixels, str(u.slots), where(k)))
    widths = [max(len(row[i]) for row in rows) for i in range(4)]
    return [
        "  ".join([*(c.ljust(w) for c, w in zip(row, widths, strict=False)), row[4]])
        for row in rows
    ]
