"""A way to carry frames: what a protocol's packets look like, and which rules a stream keeps to.

E1.31 is one; the others stand in rooms of their own beside this one and go through the same blocks,
pacing, checks and endings.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from lumenmap.controller.e131.packets import (
    OPTIONS_AT,
    PORT,
    SEQUENCE_AT,
    SLOTS_AT,
    TERMINATED,
    Source,
    data_packet,
    discovery_packets,
)
from lumenmap.pixels.universes import NumberedLine, Universe, plan_universes

Octets = NDArray[np.uint8]


@dataclass(frozen=True, slots=True)
class PacketOptions:
    """What a stream asks of its packets.

    Attributes
    ----------
    sync
        E1.31: the universe of the synchronisation packets. Elsewhere: any number but 0 asks for
        frames that are shown all at once.
    apart
        Each line has an address of its own.
    """

    sync: int = 0
    apart: bool = False


@dataclass(frozen=True, slots=True)
class Way:
    """How a protocol carries frames.

    Attributes
    ----------
    name, port
        Its word in ``--to``, and its UDP port; 0 if it isn't UDP.
    plan
        Lays lines out over packets of one frame, for pixels of so many channels.
    heads
        Each packet of a frame, its codes 0.
    slots_at
        Octets before the codes.
    sequence
        Where the sequence number stands, its first value, and how many values it has.
    end
        Where a packet says that the stream is over, and the bit that says so; None if it can't.
    together
        If a frame has changed, all its packets are sent.
    seal
        Writes a checksum into packets (frames, packets, octets); None if there is none.
    after
        A packet that follows each frame, to every address; None if there is none.
    announce
        Packets that tell of the stream now and then.
    any_order
        Receivers take the packets of a frame in any order; those whose light falls go first, so
        that between two packets a supply gives no more than before or after.
    """

    name: str
    port: int
    plan: Callable[[Sequence[NumberedLine], int], tuple[Universe, ...]]
    heads: Callable[[Source, Sequence[Universe], PacketOptions], list[bytes]]
    slots_at: int
    sequence: tuple[int, int, int]
    end: tuple[int, int] | None = None
    together: bool = False
    seal: Callable[[Octets], None] | None = None
    after: Callable[[PacketOptions], bytes | None] = lambda _: None
    announce: Callable[[Source, Sequence[Universe]], list[bytes]] = lambda *_: []
    any_order: bool = False


def _heads(source: Source, units: Sequence[Universe], options: PacketOptions) -> list[bytes]:
    return [data_packet(source, u.number, bytes(u.slots), sync=options.sync) for u in units]


E131 = Way(
    "e131",
    PORT,
    plan_universes,
    _heads,
    SLOTS_AT,
    (SEQUENCE_AT, 0, 256),
    (OPTIONS_AT, TERMINATED),
    announce=lambda source, units: discovery_packets(source, [u.number for u in units]),
    any_order=True,
)
