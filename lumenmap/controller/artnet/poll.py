"""ArtPoll and ArtPollReply of Art-Net 4: asking which controllers a network has.

Sources: the opcodes, the address and port and the lengths of the names are given alike by a
vendor's automation library and two protocol libraries' reference pages [P2]; where the other fields
stand is from memory [M], checked against a packet dissector's reading. A reply says what its sender
pleases: its text is cut and cleaned, and its address is that of the packet, not the one in it.
"""

from __future__ import annotations

import struct
from dataclasses import dataclass

from lumenmap.core.plain import plain

_ID = b"Art-Net\0"
_POLL, _REPLY = 0x2000, 0x2100  # OpCodes, little endian
_VERSION = 14  # big endian
#: Where a reply's fields stand (octets), and how short a reply may be: older ones end after SwOut.
_NET, _SUB, _SHORT, _LONG = 18, 19, slice(26, 44), slice(44, 108)
_TYPES, _OUT, SHORTEST = slice(174, 178), slice(190, 194), 194
#: In a port's type: it sends light out of the network.
_OUTPUT = 0x80


@dataclass(frozen=True, slots=True)
class Node:
    """A controller that answered.

    Attributes
    ----------
    address
        IPv4, that the answer came from.
    name
        As it calls itself.
    port_addresses
        Those of its outputs, as Art-Net counts them, from 0.
    """

    address: str
    name: str
    port_addresses: tuple[int, ...] = ()


def artpoll() -> bytes:
    """Build an ArtPoll packet that asks for an answer, and for nothing more."""
    return struct.pack("<8sH", _ID, _POLL) + struct.pack(">HBB", _VERSION, 0, 0)


def read_reply(packet: bytes, address: str) -> Node | None:
    """Read an ArtPollReply packet; None if it isn't one.

    Parameters
    ----------
    address
        Where it came from.
    """
    if len(packet) < SHORTEST or packet[:8] != _ID:
        return None
    if struct.unpack_from("<H", packet, 8)[0] != _REPLY:
        return None
    names = [_text(packet[part]) for part in (_LONG, _SHORT)]
    base = (packet[_NET] & 0x7F) << 8 | (packet[_SUB] & 0x0F) << 4
    outputs = [
        base | switch & 0x0F
        for kind, switch in zip(packet[_TYPES], packet[_OUT], strict=True)
        if kind & _OUTPUT
    ]
    name = next(filter(None, names), "a controller without a name")
    return Node(address, name, tuple(dict.fromkeys(outputs)))


def _text(field: bytes) -> str:
    return plain(field.partition(b"\0")[0].decode("utf-8", "replace").strip(), 64)
