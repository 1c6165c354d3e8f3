"""A packet sender that writes to a pcap file instead of the network.

Classic libpcap format with microseconds, which every packet tool reads; Ethernet, IPv4 (RFC 791)
and UDP (RFC 768) headers with their checksums. Unknown addresses are those that RFC 5737 reserves
for documentation.
"""

from __future__ import annotations

import ipaddress
import struct
from collections import Counter
from typing import BinaryIO

from lumenmap.controller.e131.addresses import Address
from lumenmap.controller.e131.packets import PORT
from lumenmap.core.errors import InputError

_MAGIC, _ETHERNET = 0xA1B2C3D4, 1
_FROM_IP = ipaddress.IPv4Address("192.0.2.1").packed  # RFC 5737, TEST-NET-1
_FROM_MAC = bytes.fromhex("020000000001")  # locally administered
_TO_MAC = bytes.fromhex("020000000002")


class VirtualClock:
    """A clock that advances only in `sleep`."""

    def __init__(self, start: float = 0.0) -> None:
        self._time = start

    def now(self) -> float:
        """Return the time, s."""
        return self._time

    def sleep(self, seconds: float) -> None:
        """Advance the time."""
        self._time += seconds


class Capture:
    """Writes the packets sent to a pcap file, stamped with the clock's time.

    Parameters
    ----------
    file
        Open for writing in binary; the caller closes it.
    clock
        Its time becomes the packets' timestamps, seconds since 1970.
    """

    def __init__(self, file: BinaryIO, clock: VirtualClock) -> None:
        self.lost: Counter[str] = Counter()
        self._file, self._clock, self._count = file, clock, 0
        file.write(struct.pack("<IHHiIII", _MAGIC, 2, 4, 0, 0, 65535, _ETHERNET))

    def send(self, packet: bytes | memoryview, address: Address) -> bool:
        """Append one packet."""
        frame = ethernet_frame(bytes(packet), address, self._count)
        micros = round(self._clock.now() * 1e6)
        size = len(frame)
        self._file.write(struct.pack("<IIII", *divmod(micros, 1_000_000), size, size) + frame)
        self._count += 1
        return True

    def close(self) -> None:
        """Do nothing: the caller closes the file."""


def ethernet_frame(payload: bytes, address: Address, number: int = 0) -> bytes:
    """Wrap a UDP payload to an IPv4 address in its headers."""
    host = ipaddress.ip_address(address[0])
    if not isinstance(host, ipaddress.IPv4Address):
        raise InputError(f"{host} isn't an IPv4 address; captures are IPv4 only")
    size = 8 + len(payload)
    udp = struct.pack(">HHH", PORT, address[1], size)
    pseudo = _FROM_IP + host.packed + struct.pack(">BBH", 0, 17, size)
    check = _checksum(pseudo + udp + b"\0\0" + payload) or 0xFFFF  # RFC 768: 0 means none
    hops = 1 if host.is_multicast else 64  # as `UdpSender` sends them
    head = struct.pack(">BBHHHBB", 0x45, 0, 20 + size, number & 0xFFFF, 0, hops, 17)
    addresses = _FROM_IP + host.packed
    head += struct.pack(">H", _checksum(head + b"\0\0" + addresses)) + addresses
    mac = _TO_MAC
    if host.is_multicast:  # RFC 1112 6.4: the group's low 23 bits
        mac = b"\x01\x00\x5e" + (int(host) & 0x7FFFFF).to_bytes(3, "big")
    return b"".join((mac, _FROM_MAC, b"\x08\x00", head, udp, struct.pack(">H", check), payload))


def _checksum(data: bytes) -> int:
    """Return the Internet checksum (RFC 1071)."""
    data += b"\0" * (len(data) % 2)
    total = sum(struct.unpack(f">{len(data) // 2}H", data))
    total = (total & 0xFFFF) + (total >> 16)
    return int(~(total + (total >> 16)) & 0xFFFF)
