"""Sends packets to the addresses the user gave, and never waits for the network.

An unplugged cable, a missing host or a full buffer must neither stop a show nor hold it up: the
sockets never block, failures are counted by reason, and the next frame is tried again. Each
controller has a socket of its own, a `Target`; multicast groups share one.
"""

from __future__ import annotations

import errno
import socket
import struct
from collections import Counter
from collections.abc import Iterable
from typing import Protocol

from lumenmap.controller.e131.addresses import Address, is_dotted_quad, is_group
from lumenmap.controller.e131.target import REASONS, Target
from lumenmap.core.errors import InputError

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
    """UDP sockets on ports that the system chooses.

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
        self.targets: dict[Address, Target] = {}
        self._groups: set[Address] = set()
        self._sockets: dict[int, socket.socket] = {}  # for multicast
        self._interface, self._hops = interface, hops
        if (interface or ipv6) and (ipv6 or not is_dotted_quad(interface)):
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
            if name and not is_dotted_quad(name):
                index = socket.if_nametoindex(name)
                made.setsockopt(socket.IPPROTO_IPV6, socket.IPV6_MULTICAST_IF, index)
            return
        made.setsockopt(socket.IPPROTO_IP, socket.IP_MULTICAST_TTL, self._hops)
        if is_dotted_quad(name):
            made.setsockopt(socket.IPPROTO_IP, socket.IP_MULTICAST_IF, socket.inet_aton(name))
        elif name:  # group, own address, index: struct ip_mreqn of ip(7)
            chosen = struct.pack("=4s4si", b"", b"", socket.if_nametoindex(name))
            made.setsockopt(socket.IPPROTO_IP, socket.IP_MULTICAST_IF, chosen)

    def send(self, packet: bytes | memoryview, address: Address) -> bool:
        """Send one packet; return whether it was sent, and count why not."""
        if (target := self.targets.get(address)) is None:
            if address in self._groups or is_group(address):
                self._groups.add(address)
                return self._to_group(packet, address)
            target = self.targets.setdefault(address, Target(address))
        if why := target.send(packet):
            self.lost[why] += 1
        return not why

    def expect(self, addresses: Iterable[Address]) -> None:
        """Take note of controllers before the first packet: names can be looked up meanwhile."""
        for address in addresses:
            self.targets.setdefault(address, Target(address))

    def settle(self) -> None:
        """Wait until the network has told of hosts that aren't there; a few seconds at most."""
        for target in list(self.targets.values()):
            target.settle()

    @property
    def silent(self) -> list[Target]:
        """The controllers that never gave a sign of being there; empty if any may have been."""
        found = list(self.targets.values())
        return found if not self._groups and all(t.silent for t in found) else []

    def _to_group(self, packet: bytes | memoryview, address: Address) -> bool:
        family = socket.AF_INET if len(address) == 2 else socket.AF_INET6
        try:
            self._socket(family).sendto(packet, address)
        except OSError as error:
            self.lost[REASONS.get(error.errno or 0, error.strerror or str(error))] += 1
            if error.errno in _GONE and family in self._sockets:
                self._sockets.pop(family).close()  # plugged in again, it may have a new index
            return False
        return True

    def close(self) -> None:
        """Close the sockets."""
        for made in self._sockets.values():
            made.close()
        for target in self.targets.values():
            target.close()
        self._sockets.clear()


def _no_interface(given: str, *, ipv6: bool) -> str:
    names = ", ".join(name for _, name in socket.if_nameindex())
    if not given:
        return f"is missing: `ipv6` needs one of {names}"
    address = "" if ipv6 else ", or an interface's IPv4 address"
    return f'is "{given[:40]}"; expected one of {names}{address}'
