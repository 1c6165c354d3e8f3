"""Frames over a serial line: length and CRC, a framing of our own (board/text/PROTOCOL.md).

``LM``, a type (1 a frame, 3 the end of the stream), a sequence number, the count of codes in 32
bits, all codes of a frame in wire order, and the CRC-32 of everything from the type on; numbers
little endian. A receiver that joins in the middle looks for ``LM`` until a CRC fits.
"""

from __future__ import annotations

import struct
import zlib
from collections.abc import Sequence

from lumenmap.controller.e131.packets import Source
from lumenmap.controller.e131.way import Octets, PacketOptions, Way
from lumenmap.pixels.universes import NumberedLine, Universe

MAGIC = b"LM"
FRAME, END = 1, 3
TYPE_AT, SEQUENCE_AT, CODES_AT = 2, 3, 8
_CRC = 4
#: Octets beside the codes.
OVERHEAD = CODES_AT + _CRC


def serial_frame(codes: bytes, *, sequence: int = 0, kind: int = FRAME) -> bytes:
    """Build a frame's octets; ``kind`` is `FRAME` or `END`."""
    body = struct.pack("<BBI", kind, sequence, len(codes)) + codes
    return MAGIC + body + struct.pack("<I", zlib.crc32(body))


def _plan(lines: Sequence[NumberedLine], channels: int) -> tuple[Universe, ...]:
    """All lines are one stretch: the board knows where each begins."""
    count = sum(line.count for line in lines)
    return (Universe(1, ", ".join(line.name for line in lines), 0, count, 0, channels),)


def _heads(source: Source, units: Sequence[Universe], options: PacketOptions) -> list[bytes]:
    del source, options
    return [serial_frame(bytes(u.slots)) for u in units]


def _seal(packets: Octets) -> None:
    for row in packets.reshape(-1, packets.shape[-1]):
        crc = zlib.crc32(row[TYPE_AT:-_CRC].data)
        row[-_CRC:] = list(struct.pack("<I", crc))


SERIAL = Way(
    "serial", 0, _plan, _heads, CODES_AT, (SEQUENCE_AT, 0, 256), (TYPE_AT, END), seal=_seal
)
