"""A packet capture of the show's E1.31 stream, without a network."""

from __future__ import annotations

import uuid
from pathlib import Path

from lumenmap.controller.e131.capture import Capture, VirtualClock
from lumenmap.controller.e131.options import StreamOptions
from lumenmap.controller.e131.packets import DEFAULT_PRIORITY, Source
from lumenmap.controller.e131.routes import Destination
from lumenmap.controller.e131.stream import Stream
from lumenmap.controller.files.frameset import FrameSet
from lumenmap.pixels.universes import plan_universes

SUFFIX = ".pcap"


def pcap(
    frames: FrameSet,
    path: Path,
    /,
    *,
    to: str = "",
    priority: int = DEFAULT_PRIORITY,
    steady: bool = False,
) -> None:
    """Capture file of the E1.31 packets with their timing, for tshark and other packet tools.

    ``to`` is the IPv4 address they go to (each universe's multicast group if empty), ``priority``
    their priority; ``steady`` also writes the packets of frames that don't change. The CID is
    derived from the bytes of the show, so that the same show gives the same file.
    """
    universes = plan_universes(frames.lines, frames.channels)
    where = Destination((to,) if to else (), multicast=not to).routes(universes)
    source = Source(uuid.uuid5(uuid.NAMESPACE_OID, frames.sha256), "lumenmap", priority)
    clock = VirtualClock()
    with path.open("wb") as file:
        sender = Capture(file, clock)
        Stream(source, where, sender, StreamOptions(steady=steady), clock=clock).play(frames)
