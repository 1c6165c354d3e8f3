"""The only socket: sends packets to addresses the user named, and never stops for the network.

A cable that is out, a host that is away or a full buffer must not stop a show, nor make it wait:
the socket never blocks, each failure is counted by its reason, and the next frame is tried again.
"""

from __future__ import annotations

import errno
import socket
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
        The own IPv4 address that multicast leaves by; the system chooses if empty.
    hops
        Routers that multicast may cross, plus one; 1 keeps it on the local network.
    """

    def __init__(self, *, interface: str = "", hops: int = 1) -> None:
        self.lost: Counter[str] = Counter()
        self._sockets: dict[int, socket.socket] = {}
        self._interface, self._hops = interface, hops
        if interface:
            try:
                socket.inet_aton(interface)
            except OSError:
                raise InputError(f'interface is "{interface}"; one of this machine\'s own IPv4 '
                                 "addresses is wanted") from None  # fmt: skip

    def _socket(self, family: int) -> socket.socket:
        if family not in self._sockets:
            made = socket.socket(family, socket.SOCK_DGRAM)
            made.setblocking(False)
            if family == socket.AF_INET:
                made.setsockopt(socket.IPPROTO_IP, socket.IP_MULTICAST_TTL, self._hops)
                if self._interface:
                    own = socket.inet_aton(self._interface)
                    made.setsockopt(socket.IPPROTO_IP, socket.IP_MULTICAST_IF, own)
            self._sockets[family] = made
        return self._sockets[family]

    def send(self, packet: bytes | memoryview, address: Address) -> bool:
        """Send one packet; say whether it went, and count why not."""
        try:
            family = socket.AF_INET if len(address) == 2 else socket.AF_INET6
            self._socket(family).sendto(packet, address)
        except OSError as error:
            self.lost[_WORDS.get(error.errno or 0, error.strerror or str(error))] += 1
            return False
        return True

    def close(self) -> None:
        """Close the socket."""
        for made in self._sockets.values():
            made.close()
        self._sockets.clear()


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
        raise InputError(f'"{text}" reaches more than one machine; name one controller, '
                         "or give --multicast")  # fmt: skip
    if family == socket.AF_INET6 and first.lower().startswith("ff"):
        raise InputError(f'"{text}" is a multicast group; give --multicast instead')
    return address  # type: ignore[return-value]


#: First octets that are no single host: "this network", multicast, and what is reserved above it.
_SHARED = {"0", *map(str, range(224, 256))}


def _is_dotted_quad(text: str) -> bool:
    parts = text.split(".")
    return len(parts) == 4 and all(p.isdigit() and len(p) <= 3 and int(p) < 256 for p in parts)
