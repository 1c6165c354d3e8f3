"""ICMP echo: asking a host whether it is there (RFC 792, RFC 4443)."""

from __future__ import annotations

import contextlib
import select
import socket
import struct
import time
from collections.abc import Iterable


class Echo:
    """ICMP echo requests from a socket that needs no rights (icmp(7)), where it is allowed."""

    def __init__(self) -> None:
        self._sockets: dict[bool, socket.socket | None] = {}
        self._count = 0

    def ask(self, hosts: Iterable[str], *, wait: float = 0.3) -> set[str]:
        """Ask hosts, and return those that answer within ``wait`` s."""
        asked, answered = set(hosts), set[str]()
        self._count = (self._count + 1) & 0xFFFF
        for host in asked:
            sixth = ":" in host
            if (sender := self._open(sixth=sixth)) is not None:
                kind = 128 if sixth else 8  # RFC 4443, RFC 792; the kernel adds the checksum
                with contextlib.suppress(OSError, ValueError):
                    sender.sendto(struct.pack(">BBHHH", kind, 0, 0, 0, self._count), (host, 0))
        end = time.monotonic() + wait
        opened = [s for s in self._sockets.values() if s is not None]
        while opened and asked - answered and (left := end - time.monotonic()) > 0:
            for ready in select.select(opened, [], [], left)[0]:
                with contextlib.suppress(OSError):
                    data, sender_address = ready.recvfrom(256)
                    if data[:1] in (b"\0", b"\x81"):
                        answered.add(str(sender_address[0]))
        return answered & asked

    def _open(self, *, sixth: bool) -> socket.socket | None:
        if sixth not in self._sockets:
            family = socket.AF_INET6 if sixth else socket.AF_INET
            protocol = socket.IPPROTO_ICMPV6 if sixth else socket.IPPROTO_ICMP
            self._sockets[sixth] = None
            with contextlib.suppress(OSError):
                made = socket.socket(family, socket.SOCK_DGRAM, protocol)
                made.setblocking(False)
                self._sockets[sixth] = made
        return self._sockets[sixth]

    def close(self) -> None:
        """Close its sockets."""
        for made in self._sockets.values():
            if made is not None:
                made.close()
        self._sockets.clear()
