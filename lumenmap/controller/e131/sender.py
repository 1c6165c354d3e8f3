"""The only socket: sends packets to addresses the user named, and never stops for the network.

A cable that is out, a host that is away or a full buffer must not stop a show, nor make it wait:
the socket never blocks, each failure is counted by its reason, and the next frame is tried again.
"""

from __future__ import annotations

import errno
import socket
import struct
from collections import Counter
from typing import Protocol

from lumenmap.core.errors import InputError

#: Host and port as the socket takes them: two parts for IPv4, four for IPv6.
Address = tuple[str, int] | tuple[str, int, int, int]

_WORDS = {
    errno.ENETUNREACH: "network unreachable",
    errno.ENETDOWN: "network down",
    errno.EHOSTUNREACH: "host unreachable",
    errno.EHOSTDOWN: "host down",
    errno.ENOBUFS: "send buffer full",
    errno.EAGAIN: "send buffer full",
    errno.ECONNREFUSED: "nobody listens there",
    errno.EADDRNOTAVAIL: "own address gone",
    errno.ENODEV: "interface gone",
    errno.EPERM: "refused by a firewall",
    errno.EACCES: "a broadcast address, not one controller",
}

#: The interface that a socket was bound to is no more.
_GONE = (errno.ENODEV, errno.ENXIO, errno.EADDRNOTAVAIL)


class Sending(Protocol):
    """What a stream asks of a sender; a test puts its own in."""

    lost: Counter[str]

    def send(self, packet: bytes | memoryview, address: Address) -> bool:
        """Send one packet; say whether it went."""
        ...

    def close(self) -> None:
        """Let go of what it holds."""
        ...


class UdpSender:
    """A UDP socket on a port of the system's choice.

    Parameters
    ----------
    interface
        The network interface that multicast leaves by: its name, or its IPv4 address; the system
        chooses if empty.
    ipv6
        Multicast goes over IPv6, where there is no choosing: the interface's name is wanted.
    hops
        Routers that multicast may cross, plus one; 1 keeps it on the local network.

    Raises
    ------
    InputError
        No such interface, or none where one is wanted.
    """

    def __init__(self, *, interface: str = "", ipv6: bool = False, hops: int = 1) -> None:
        self.lost: Counter[str] = Counter()
        self._sockets: dict[int, socket.socket] = {}
        self._interface, self._hops = interface, hops
        if (interface or ipv6) and (ipv6 or not _is_dotted_quad(interface)):
            try:
                socket.if_nametoindex(interface)
            except (OSError, ValueError):  # a NUL in it is a ValueError
                raise InputError(_no_interface(interface, ipv6=ipv6)) from None

    def _socket(self, family: int) -> socket.socket:
        if family not in self._sockets:
            made = socket.socket(family, socket.SOCK_DGRAM)
            made.setblocking(False)
            try:
                self._steer(made, family)
            except OSError:
                made.close()
                raise
            self._sockets[family] = made
        return self._sockets[family]

    def _steer(self, made: socket.socket, family: int) -> None:
        """Say where multicast leaves, and how far it goes."""
        by = self._interface
        if family == socket.AF_INET6:
            made.setsockopt(socket.IPPROTO_IPV6, socket.IPV6_MULTICAST_HOPS, self._hops)
            if by and not _is_dotted_quad(by):
                index = socket.if_nametoindex(by)
                made.setsockopt(socket.IPPROTO_IPV6, socket.IPV6_MULTICAST_IF, index)
            return
        made.setsockopt(socket.IPPROTO_IP, socket.IP_MULTICAST_TTL, self._hops)
        if _is_dotted_quad(by):
            made.setsockopt(socket.IPPROTO_IP, socket.IP_MULTICAST_IF, socket.inet_aton(by))
        elif by:  # group, own address, index: struct ip_mreqn of ip(7)
            chosen = struct.pack("=4s4si", b"", b"", socket.if_nametoindex(by))
            made.setsockopt(socket.IPPROTO_IP, socket.IP_MULTICAST_IF, chosen)

    def send(self, packet: bytes | memoryview, address: Address) -> bool:
        """Send one packet; say whether it went, and count why not."""
        family = socket.AF_INET if len(address) == 2 else socket.AF_INET6
        try:
            self._socket(family).sendto(packet, address)
        except OSError as error:
            self.lost[_WORDS.get(error.errno or 0, error.strerror or str(error))] += 1
            if error.errno in _GONE and family in self._sockets:
                self._sockets.pop(family).close()  # plugged in again it may have another number
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
        return f"--ipv6 wants an --interface, one of {names}"
    or_else = "" if ipv6 else ", or its own IPv4 address"
    return f'interface is "{given[:40]}"; wanted one of {names}{or_else}'


def resolve(host: str, port: int) -> Address:
    """Return the address of a host name or number.

    Raises
    ------
    InputError
        Not an address, a name nobody knows, or one that reaches more than one machine.
    """
    text = host.strip().removeprefix("[").removesuffix("]")
    if not text or len(text) > 253 or any(c.isspace() for c in text):
        raise InputError(f'"{host[:60]}" is not an address; wanted one like 192.168.1.40')
    if all(c.isdigit() or c == "." for c in text) and not _is_dotted_quad(text):
        raise InputError(f'"{text}" is not an address; IPv4 has four numbers from 0 to 255')
    try:
        found = socket.getaddrinfo(text, port, type=socket.SOCK_DGRAM)
    except (OSError, UnicodeError) as error:
        why = getattr(error, "strerror", None) or error
        raise InputError(f'"{text}" can\'t be found: {why}') from None
    family, _, _, _, address = min(found, key=lambda f: f[0] != socket.AF_INET)
    first = str(address[0])
    if family == socket.AF_INET and first.split(".")[0] in _SHARED:
        raise InputError(
            f'"{text}" reaches more than one machine; name one controller, or give --multicast'
        )
    if family == socket.AF_INET6 and first.lower().startswith("ff"):
        raise InputError(f'"{text}" is a multicast group; give --multicast --ipv6 instead')
    return address  # type: ignore[return-value]


#: First octets that are no single host: "this network", multicast, and what is reserved above it.
_SHARED = {"0", *map(str, range(224, 256))}


def _is_dotted_quad(text: str) -> bool:
    parts = text.split(".")
    return len(parts) == 4 and all(p.isdigit() and len(p) <= 3 and int(p) < 256 for p in parts)
