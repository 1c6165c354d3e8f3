"""One controller as the sender sees it: a socket connected to it, and signs that it isn't there.

Strategy: a connected socket is told what comes back for its packets. "Port unreachable" (ICMP, RFC
792) is a sign that nothing listens there; "host unreachable", which a router sends or this machine
itself when nobody answers its ARP requests (RFC 826, RFC 1122 2.3.2.2), that there is no such host.
The error comes with a later packet, which has then not left and is sent again. That no error comes
is no proof of a receiver: E1.31 has no answer.
"""

from __future__ import annotations

import contextlib
import errno
import socket
import time

from lumenmap.controller.e131.addresses import Address, is_numeric

REASONS = {
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
REFUSED, UNNAMED = REASONS[errno.ECONNREFUSED], "host name not found"

#: How long a sign of absence holds without another (s): hosts send one refusal a second (icmp(7),
#: icmp_ratelimit), and the kernel asks for a missing host three times, a second apart, before it
#: gives up (arp(7)).
_HOLDS = {errno.ECONNREFUSED: 1.5, errno.EHOSTUNREACH: 4.5, errno.EHOSTDOWN: 4.5}
#: After so long (s) it has given up.
_ASKED_SECONDS = 3.5
#: Errors that pass by themselves; after any other the socket is made anew, at most so often (s):
#: this machine's address or its interface may have changed.
_PASSING = (errno.EAGAIN, errno.ENOBUFS, *_HOLDS)
_ANEW_SECONDS = 0.25
#: Ask for errors of ICMP also where they needn't be final: linux/in.h and linux/in6.h [M].
_IP_RECVERR, _IPV6_RECVERR = 11, 25
#: Nobody was there if signs of absence never paused for so long (s).
QUIET_SECONDS = 6.0


class Target:
    """A controller's address.

    Attributes
    ----------
    given
        As the user gave it; its host may be a name, which somebody else must look up (`move`).
    address
        Where packets go now; None as long as the name isn't known.
    sent, lost
        Packets that left, and that didn't or were told not to arrive.
    why, since
        The sign of absence that holds, and since when (s, monotonic); empty if none does.
    last
        Why the last packet was lost that was.
    away
        How long signs of absence held, in all (s); one that holds counts once it has ended.
    """

    def __init__(self, given: Address) -> None:
        self.given = given
        self.address: Address | None = given if is_numeric(given[0]) else None
        self.sent = self.lost = 0
        self.why, self.since, self.last = "", 0.0, ""
        self.away = self._until = self._anew = 0.0
        self._moved = False
        self._socket: socket.socket | None = None
        self._signs = 0
        self._mark = self._longest = -1.0

    def move(self, address: Address) -> None:
        """Send to another address from now on; may be called from another thread."""
        self.address, self._moved = address, True

    def send(self, packet: bytes | memoryview) -> str:
        """Send one packet; return why it is lost, as far as is known, or the empty string."""
        if self._mark < 0:
            self._mark = time.monotonic()
        why = self._send(packet)
        if why:
            self.lost += 1
        else:
            self.sent += 1
        return why

    def _send(self, packet: bytes | memoryview) -> str:
        if self.address is None:
            self._absent(UNNAMED, 1.0)
            return UNNAMED
        if self._moved:
            self.close()
            self._moved, self._anew, self._until = False, 0.0, 0.0  # what was isn't of this one
        try:
            if self._socket is None:
                if time.monotonic() < self._anew:
                    return self.why or "network unreachable"
                self._socket = connected(self.address)
            self._socket.send(packet)
        except OSError as error:
            return self._failed(error, packet)
        if self.why and time.monotonic() >= self._until:
            self.why = ""
            self.away += self._mark - self.since  # until the last sign
            self._mark = time.monotonic()
        return self.why

    def _failed(self, error: OSError, packet: bytes | memoryview) -> str:
        number = error.errno or 0
        why = REASONS.get(number, error.strerror or str(error))
        if number in _HOLDS and self._socket is not None:
            with contextlib.suppress(OSError):  # the error was about an earlier packet
                self._socket.send(packet)
        if number not in _PASSING:
            self.close()
            self._anew = time.monotonic() + _ANEW_SECONDS
        self.last = why
        if number not in (errno.EAGAIN, errno.ENOBUFS):
            self._absent(why, _HOLDS.get(number, 1.0))
        return why

    def _absent(self, why: str, seconds: float) -> None:
        now = time.monotonic()
        if not self.why:
            self.since = now
        self._longest = max(self._longest, now - self._mark)
        self.why = self.last = why
        self._until, self._mark = now + seconds, now
        self._signs += 1

    def settle(self) -> None:
        """Wait for signs of absence that a short stream ends too soon for."""
        host = self.address[0] if self.address is not None else ""
        left = _ASKED_SECONDS - (time.monotonic() - self._mark)
        if self._socket is None or self._signs or self._mark < 0 or host.startswith("127."):
            return
        if left > 0:
            time.sleep(left)
        number = self._socket.getsockopt(socket.SOL_SOCKET, socket.SO_ERROR)
        if number in _HOLDS:
            self._absent(REASONS[number], _HOLDS[number])

    @property
    def silent(self) -> bool:
        """Whether there were signs of absence, and never a while without."""
        quiet = max(self._longest, time.monotonic() - self._mark)
        return self._signs > 0 and quiet < QUIET_SECONDS

    def close(self) -> None:
        """Close the socket; the next packet opens another."""
        if self._socket is not None:
            self._socket.close()
            self._socket = None


def connected(address: Address) -> socket.socket:
    """Return a UDP socket that never blocks, connected to an address, and told of ICMP errors."""
    sixth = len(address) == 4
    made = socket.socket(socket.AF_INET6 if sixth else socket.AF_INET, socket.SOCK_DGRAM)
    try:
        made.setblocking(False)
        with contextlib.suppress(OSError):  # Linux alone has it
            if sixth:
                made.setsockopt(socket.IPPROTO_IPV6, _IPV6_RECVERR, 1)
            else:
                made.setsockopt(socket.IPPROTO_IP, _IP_RECVERR, 1)
        made.connect(address)
    except OSError:
        made.close()
        raise
    return made
