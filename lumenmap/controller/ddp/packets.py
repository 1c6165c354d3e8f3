"""DDP packets: a header of 10 octets, and codes at an offset of the display.

All of this is from memory [M] and has met no receiver yet. UDP 4048, big endian: flags (version 1
in the top bits; push on a frame's last packet shows it), a sequence number 1 to 15, the type of
data (0x0B for RGB of 8 bits, 0x1B for RGBW), the destination (1 is the default output), offset and
length in octets. 1440 octets of codes fill an Ethernet frame.
"""

from __future__ import annotations

import struct
from collections.abc import Sequence

from lumenmap.controller.e131.packets import Source
from lumenmap.controller.e131.way import PacketOptions, Way
from lumenmap.pixels.universes import NumberedLine, Universe

PORT = 4048
MOST_OCTETS = 1440
_VERSION, _PUSH = 0x40, 0x01
_TYPES = {3: 0x0B, 4: 0x1B}
_OUTPUT = 1
SEQUENCE_AT, DATA_AT = 1, 10


def ddp_packet(
    offset: int, codes: bytes, *, channels: int = 3, push: bool = False, sequence: int = 0
) -> bytes:
    """Build a packet.

    Parameters
    ----------
    offset
        Where in the display its codes belong, octets.
    codes
        At most 1440.
    push
        Show what came: the frame's last packet.
    sequence
        1 to 15, or 0 for none.
    """
    flags = _VERSION | (_PUSH if push else 0)
    return (
        struct.pack(">BBBBIH", flags, sequence, _TYPES[channels], _OUTPUT, offset, len(codes))
        + codes
    )


def _plan(lines: Sequence[NumberedLine], channels: int) -> tuple[Universe, ...]:
    per = MOST_OCTETS // channels
    units: list[Universe] = []
    for line in lines:
        for at in range(0, max(1, line.count), per):
            count = min(per, line.count - at)
            units.append(Universe(len(units) + 1, line.name, line.first + at, count, at, channels))
    return tuple(units)


def _heads(source: Source, units: Sequence[Universe], options: PacketOptions) -> list[bytes]:
    """Return packets of a display of all lines in turn; of one display per line if ``apart``."""
    del source  # a packet doesn't say who sent it
    heads = []
    for u, after in zip(units, [*units[1:], None], strict=True):
        last = after is None or (options.apart and after.line != u.line)
        offset = (u.start if options.apart else u.first) * u.channels
        heads.append(ddp_packet(offset, bytes(u.slots), channels=u.channels, push=last))
    return heads


#: All of a changed frame's packets are sent: the push is in the last of them.
DDP = Way("ddp", PORT, _plan, _heads, DATA_AT, (SEQUENCE_AT, 1, 15), together=True)
