"""Art-Net 4 packets: ArtDmx and ArtSync, by the field tables of open libraries and a dissector.

Sources: a vendor's automation library, two protocol libraries' reference pages and a packet
dissector's source agree on the fields [P2]; the specification's own text was not read. Art-Net is
a trademark of its owner, who publishes the protocol.

A port-address counts from 0, a universe of E1.31 from 1. Here both are the same number: the house
file's universe 1 goes to port-address 1, nothing is shifted.
"""

from __future__ import annotations

import struct
from collections.abc import Sequence

from lumenmap.controller.e131.packets import Source
from lumenmap.controller.e131.way import PacketOptions, Way
from lumenmap.core.errors import InputError
from lumenmap.pixels.universes import NumberedLine, Universe, plan_universes

PORT = 6454  # 0x1936
_ID = b"Art-Net\0"
_DMX, _SYNC = 0x5000, 0x5200  # OpCodes, little endian
_VERSION = 14  # big endian
HIGHEST_PORT_ADDRESS = 0x7FFF  # 15 bits: net 7, sub-net 4, universe 4
SEQUENCE_AT, DATA_AT = 12, 18


def artdmx(port_address: int, slots: bytes, sequence: int = 0) -> bytes:
    """Build an ArtDmx packet.

    Parameters
    ----------
    port_address
        0 to 32767.
    slots
        1 to 512 levels; an odd count is made even with a 0, as the length has to be.
    sequence
        1 to 255; 0 says that packets may be put in no order.
    """
    slots += bytes(len(slots) % 2)
    head = struct.pack("<8sH", _ID, _DMX) + struct.pack(">HBB", _VERSION, sequence, 0)
    return head + struct.pack(">BBH", port_address & 255, port_address >> 8, len(slots)) + slots


def artsync() -> bytes:
    """Build an ArtSync packet: nodes show what came since the last one."""
    return struct.pack("<8sH", _ID, _SYNC) + struct.pack(">HBB", _VERSION, 0, 0)


def _plan(lines: Sequence[NumberedLine], channels: int) -> tuple[Universe, ...]:
    units = plan_universes(lines, channels)
    for u in units:
        if u.number > HIGHEST_PORT_ADDRESS:
            raise InputError(
                f"universe {u.number}; Art-Net has port-addresses up to {HIGHEST_PORT_ADDRESS}",
                key=f'line "{u.line}"',
            )
    return units


def _heads(source: Source, units: Sequence[Universe], options: PacketOptions) -> list[bytes]:
    del source, options  # a packet doesn't say who sent it
    return [artdmx(u.number, bytes(u.slots)) for u in units]


ARTNET = Way(
    "artnet",
    PORT,
    _plan,
    _heads,
    DATA_AT,
    (SEQUENCE_AT, 1, 255),
    after=lambda options: artsync() if options.sync else None,
)
