"""The only socket: sends packets to the addresses the user gave, and never waits for the network.

An unplugged cable, a missing host or a full buffer must neither stop a show nor hold it up: the
socket never blocks, failures are counted by reason, and the next frame is tried again.
"""

from __future__ import annotations

import errno
import socket
import struct
from collections import Counter
from typing import Protocol

from lumenmap.core.errors import InputError

#: Host and port as `socket` takes them: two parts for IPv4, four for IPv6.
Address = tuple[str, int] | tuple[str, int, int, int]

_REASONS = {
    errno.ENETUNREACH: "network unreachable",
    errno.ENETDOWN: "network down",
    errno.EHOSTUNREACH: "host unreachable",
    errno.EHOSTDOWN: "host down",
    errno.ENOBUFS: "send buffer full",
    errno.EAGAIN: "send buffer full",
    errno.ECONNREFUSED: "no receiver on that port",
    errno.EADDRNOTAVAIL: "this machine's address is gone",
    errno.ENODEV: "interface gone",
    errno.EPERM: "blocked by a firewall",
    errno.EACCES: "that is a broadcast address, not a controller",
}

#: The interface that a socket was bound to no longer exists.
_GONE = (errno.ENODEV, errno.ENXIO, errno.EADDRNOTAVAIL)


class Sender(Protocol):
    """What a stream needs from a sender; tests supply their own."""

    lost: Counter[str]

    def send(self, packet: bytes | memoryview, address: Address) -> bool:
        """Send one packet; return whether it was sent."""
        ...

    def close(self) -> None:
        """Release its resources."""
        ...


class UdpSender:
    """A UDP socket on a port that the system chooses.

    Parameters
    ----------
    interface
        Network interface for multicast: its name, or its IPv4 address; the system chooses if
        empty.
    ipv6
        Multicast over IPv6, which needs the interface's name.
    hops
        Routers that multicast may cross, plus one; 1 keeps it on the local network.

    Raises
    ------
    InputError
        No such interface, or none given where one is needed.
    """

    def __init__(self, *, interface: str = "", ipv6: bool = False, hops: int = 1) -> None:
        self.lost: Counter[str] = Counter()
        self._sockets: dict[int, socket.socket] = {}
        self._interface, self._hops = interface, hops
        if (interface or ipv6) and (ipv6 or not _is_dotted_quad(interface)):
            try:
                socket.if_nametoindex(interface)
            except (OSError, ValueError):  # a NUL in it is a ValueError
                raise InputError(_no_interface(interface, ipv6=ipv6), key="interface") from None

    def _socket(self, family: int) -> socket.socket:
        if family not in self._sockets:
            made = socket.socket(family, socket.SOCK_DGRAM)
            made.setblocking(False)
            try:
                self._set_multicast(made, family)
            except OSError:
                made.close()
                raise
            self._sockets[family] = made
        return self._sockets[family]

    def _set_multicast(self, made: socket.socket, family: int) -> None:
        """Set the interface and the reach of multicast."""
        name = self._interface
        if family == socket.AF_INET6:
            made.setsockopt(socket.IPPROTO_IPV6, socket.IPV6_MULTICAST_HOPS, self._hops)
            if name and not _is_dotted_quad(name):
                index = socket.if_nametoindex(name)
                made.setsockopt(socket.IPPROTO_IPV6, socket.IPV6_MULTICAST_IF, index)
            return
        made.setsockopt(socket.IPPROTO_IP, socket.IP_MULTICAST_TTL, self._hops)
        if _is_dotted_quad(name):
            made.setsockopt(socket.IPPROTO_IP, socket.IP_MULTICAST_IF, socket.inet_aton(name))
        elif name:  # group, own address, index: struct ip_mreqn of ip(7)
            chosen = struct.pack("=4s4si", b"", b"", socket.if_nametoindex(name))
            made.setsockopt(socket.IPPROTO_IP, socket.IP_MULTICAST_IF, chosen)

    def send(self, packet: bytes | memoryview, address: Address) -> bool:
        """Send one packet; return whether it was sent, and count why not."""
        family = socket.AF_INET if len(address) == 2 else socket.AF_INET6
        try:
            self._socket(family).sendto(packet, address)
        except OSError as error:
            self.lost[_REASONS.get(error.errno or 0, error.strerror or str(error))] += 1
            if error.errno in _GONE and family in self._sockets:
                self._sockets.pop(family).close()  # plugged in again, it may have a new index
            return False
        return True

    def close(self) -> None:
        """Close the socket."""
        for made in self._sockets.values():
            made.close()
        self._sockets.clear()


def _no_interface(given: str, *, ipv6: bool) -> str:
    names = ", ".join(name for _, name in socket.if_nameindex())
    if not given:
        return f"is missing: `ipv6` needs one of {names}"
    address = "" if ipv6 else ", or an interface's IPv4 address"
    return f'is "{given[:40]}"; expected one of {names}{address}'


def resolve(host: str, port: int) -> Address:
    """Return the address of a host name or IP address.

    Raises
    ------
    InputError
        Not an address, an unknown name, or an address of more than one machine.
    """
    text = host.strip().removeprefix("[").removesuffix("]")
    if not text or len(text) > 253 or any(c.isspace() for c in text):
        raise InputError(
            f'"{host[:60]}" isn\'t an address; expected one like 192.168.1.40', key="to"
        )
    if all(c.isdigit() or c == "." for c in text) and not _is_dotted_quad(text):
        raise InputError(
            f'"{text}" isn\'t an address; IPv4 has four numbers from 0 to 255', key="to"
        )
    try:
        found = socket.getaddrinfo(text, port, type=socket.SOCK_DGRAM)
    except (OSError, UnicodeError) as error:
        why = getattr(error, "strerror", None) or error
        raise InputError(f'"{text}" can\'t be found: {why}', key="to") from None
    family, _, _, _, address = min(found, key=lambda f: f[0] != socket.AF_INET)
    first = str(address[0])
    if family == socket.AF_INET and first.split(".")[0] in _SHARED:
        raise InputError(
            f'"{text}" reaches more than one machine; give the address of one controller, '
            "or `multicast`",
            key="to",
        )
    if family == socket.AF_INET6 and first.lower().startswith("ff"):
        raise InputError(
            f'"{text}" is a multicast group; give `multicast` and `ipv6` instead', key="to"
        )
    return address  # type: ignore[return-value]


#: First octets of IPv4 that are no single host: "this network", multicast, reserved.
_SHARED = {"0", *map(str, range(224, 256))}


def _is_dotted_quad(text: str) -> bool:
    parts = text.split(".")
    return len(parts) == 4 and all(p.isdigit() and len(p) <= 3 and int(p) < 256 for p in parts)
