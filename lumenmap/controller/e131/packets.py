"""E1.31 packets: pure functions from values to bytes; nothing here opens a socket.

Source: ANSI E1.31-2018, from the field tables of open protocol libraries that cite it clause by
clause; each constant names its clause. All numbers are big endian, the CID too (4.1, 5.6). A
flags-and-length field holds 0x7 in its top four bits, and below them the octets from the start of
that field to the end of the packet.
"""

from __future__ import annotations

import ipaddress
import struct
from collections.abc import Iterable
from dataclasses import dataclass
from uuid import UUID

from lumenmap.core.errors import InputError
from lumenmap.pixels.universes import MOST_SLOTS, check_universe

PORT = 5568  # ACN_SDT_MULTICAST_PORT, 9.1.1 and appendix A
DISCOVERY_UNIVERSE = 64214  # E131_DISCOVERY_UNIVERSE, appendix A
HIGHEST_PRIORITY = 200  # 6.2.3
DEFAULT_PRIORITY = 100  # 6.2.3
DISCOVERY_SECONDS = 10.0  # E131_UNIVERSE_DISCOVERY_INTERVAL, appendix A
UNIVERSES_PER_PAGE = 512  # 8.5

TERMINATED = 0x40  # 6.2.6, bit 6: the source has stopped this universe

#: Octets that change from packet to packet.
SEQUENCE_AT, OPTIONS_AT, SLOTS_AT = 111, 112, 126
SYNC_SEQUENCE_AT = 44

_PREAMBLE = struct.pack(">HH12s", 0x0010, 0x0000, b"ASC-E1.17\0\0\0")  # 5.1-5.3
_ROOT_DATA, _ROOT_EXTENDED = 0x00000004, 0x00000008  # VECTOR_ROOT_E131_*, appendix A
_FRAME_DATA = 0x00000002  # VECTOR_E131_DATA_PACKET
_FRAME_SYNC, _FRAME_DISCOVERY = 0x00000001, 0x00000002  # VECTOR_E131_EXTENDED_*
_LIST = 0x00000001  # VECTOR_UNIVERSE_DISCOVERY_UNIVERSE_LIST
_DMP_SET, _DMP_TYPE = 0x02, 0xA1  # 7.2, 7.3


@dataclass(frozen=True, slots=True)
class Source:
    """Who sends: the component's CID, its name, and the priority of what it sends.

    Raises
    ------
    InputError
        A name over 63 octets of UTF-8 (6.2.2), or a priority outside 0 to 200 (6.2.3).
    """

    cid: UUID
    name: str
    priority: int = DEFAULT_PRIORITY

    def __post_init__(self) -> None:
        if not 0 <= self.priority <= HIGHEST_PRIORITY:
            raise InputError(
                f"is {self.priority}; expected 0 to {HIGHEST_PRIORITY}", key="priority"
            )
        octets = len(self.name.encode())
        if octets > 63 or "\0" in self.name or not self.name:
            raise InputError(
                f'"{self.name[:40]}" has {octets} octets of UTF-8; expected 1 to 63', key="name"
            )


def _length(octets: int) -> int:
    return 0x7000 | octets


def data_packet(
    source: Source,
    universe: int,
    slots: bytes,
    *,
    sequence: int = 0,
    sync: int = 0,
    options: int = 0,
) -> bytes:
    """Build a data packet of ``126 + len(slots)`` octets (4.1, table of the data packet).

    Parameters
    ----------
    slots
        0 to 512 levels, slot 1 first; start code 0 is prepended.
    sequence
        0 to 255, incremented for each packet of this universe (6.2.5).
    sync
        Universe of the synchronisation packets, 0 for none (6.2.4).
    options
        0 or `TERMINATED` (6.2.6).
    """
    check_universe(universe)
    if sync:
        check_universe(sync, "synchronisation universe")
    n = len(slots)
    if n > MOST_SLOTS:
        raise InputError(f"a packet of {n} slots; a universe has {MOST_SLOTS}")
    return b"".join(
        (
            _PREAMBLE,
            struct.pack(">HI16s", _length(110 + n), _ROOT_DATA, source.cid.bytes),
            struct.pack(">HI64s", _length(88 + n), _FRAME_DATA, source.name.encode()),
            struct.pack(">BHBBH", source.priority, sync, sequence, options, universe),
            struct.pack(">HBBHHH", _length(11 + n), _DMP_SET, _DMP_TYPE, 0, 1, n + 1),
            b"\0",  # start code 0: levels
            slots,
        )
    )


def sync_packet(cid: UUID, sync: int, sequence: int = 0) -> bytes:
    """Build a synchronisation packet, 49 octets (6.3)."""
    check_universe(sync, "synchronisation universe")
    return b"".join(
        (
            _PREAMBLE,
            struct.pack(">HI16s", _length(33), _ROOT_EXTENDED, cid.bytes),
            struct.pack(">HIBHH", _length(11), _FRAME_SYNC, sequence, sync, 0),
        )
    )


def discovery_packets(source: Source, universes: Iterable[int]) -> list[bytes]:
    """Build the universe discovery packets, one per page of 512 universes (6.4, 8)."""
    listed = sorted({check_universe(u) for u in universes})
    pages = [listed[i : i + UNIVERSES_PER_PAGE] for i in range(0, len(listed), UNIVERSES_PER_PAGE)]
    pages = pages or [[]]
    packets = []
    for page, part in enumerate(pages):
        size = 120 + 2 * len(part)
        packets.append(
            b"".join(
                (
                    _PREAMBLE,
                    struct.pack(">HI16s", _length(size - 16), _ROOT_EXTENDED, source.cid.bytes),
                    struct.pack(
                        ">HI64s", _length(size - 38), _FRAME_DISCOVERY, source.name.encode()
                    ),
                    struct.pack(">IHIBB", 0, _length(size - 112), _LIST, page, len(pages) - 1),
                    struct.pack(f">{len(part)}H", *part),
                )
            )
        )
    return packets


def multicast_v4(universe: int) -> str:
    """Return the IPv4 group of a universe (9.3.1).

    >>> multicast_v4(300)
    '239.255.1.44'
    """
    return f"239.255.{universe >> 8}.{universe & 255}"


def multicast_v6(universe: int) -> str:
    """Return the IPv6 group of a universe (9.3.2).

    >>> multicast_v6(300)
    'ff18::8300:12c'
    """
    base = int(ipaddress.IPv6Address("ff18::8300:0"))
    return str(ipaddress.IPv6Address(base | universe))
