"""Whether the controllers are there, as far as the network's standards let us see.

What counts, strongest first: errors that come back for our own packets (`Target`); an answer to an
ICMP echo (RFC 792), where the system lets us ask, or to an Art-Net poll of a network that the user
names; this machine's table of neighbours (ARP, RFC 826), which the kernel keeps true for hosts that
we send to. A receiver of E1.31 itself never answers, so "there" is said of the machine, not of what
runs on it.
"""

from __future__ import annotations

import contextlib
import time
from collections.abc import Callable, Iterable
from datetime import datetime
from pathlib import Path
from typing import Any

from lumenmap.controller.artnet.poll import Node
from lumenmap.controller.discovery import Asker
from lumenmap.controller.e131.addresses import Address, is_numeric, look_up, shown
from lumenmap.controller.e131.echo import Echo
from lumenmap.controller.e131.target import Target
from lumenmap.controller.seen import AWAY, PING, Seen
from lumenmap.core.errors import InputError

#: Names are looked up so often while their host gives no sign, and otherwise (s).
_LOOK_UP_ABSENT, _LOOK_UP = 15.0, 300.0
_NEIGHBOURS = Path("/proc/net/arp")
_POLL = "Art-Net polls"
#: So long (s) answers to a poll are waited for; those that come later are read at the next look.
_POLL_SECONDS = 0.3


class Presence:
    """Looks at controllers now and then, and says when one goes or comes back.

    Parameters
    ----------
    targets
        Returns those there are now.
    say
        Gets a sentence for each change.
    wall
        The time of day.
    asker
        Asks a network that the user names.
    """

    def __init__(
        self,
        targets: Callable[[], Iterable[Target]],
        say: Callable[[str], None],
        wall: Callable[[], datetime],
        asker: Asker | None = None,
    ) -> None:
        self._targets, self._say, self._wall = targets, say, wall
        self._seen: dict[Address, Seen] = {}
        self._echo, self._asker = Echo(), asker
        self._named: dict[str, str] = {}  # what controllers that answered a poll call themselves

    def look(self) -> None:
        """Look names up, ask hosts, read what came back; may take seconds for names."""
        targets = list(self._targets())
        for target in targets:
            self._name(target, self._seen.setdefault(target.given, Seen()))
        hosts = {t.address[0] for t in targets if t.address is not None}
        answered = dict.fromkeys(self._polled(), _POLL)
        answered |= dict.fromkeys(self._echo.ask(hosts), PING)
        neighbours = _neighbours()
        now = time.monotonic()
        for target in targets:
            seen = self._seen[target.given]
            host = target.address[0] if target.address else ""
            if host in answered:
                seen.answered, seen.by = now, answered[host]
            for text in seen.judge(target, neighbours.get(host), now, self._wall()):
                self._say(text)

    def _polled(self) -> dict[str, Node]:
        """Return who answered a poll since the last look, or does so at once."""
        if self._asker is None:
            return {}
        with contextlib.suppress(InputError, OSError):  # the network may be away
            self._asker.ask()
        found = self._asker.heard(_POLL_SECONDS)
        for address, node in found.items():
            if self._named.get(address) != node.name:
                self._say(f"{address} answers: {node.name}")
                self._named[address] = node.name
        return found

    def _name(self, target: Target, seen: Seen) -> None:
        """Look a name up again: the router may have given its host another address."""
        host, port = target.given[:2]
        absent = target.address is None or target.why or seen.state == "no sign"
        pause = _LOOK_UP_ABSENT if absent else _LOOK_UP
        if is_numeric(host) or time.monotonic() - seen.looked_up < pause:
            return
        seen.looked_up = time.monotonic()
        try:
            found = look_up(host, port)
        except InputError:
            return
        if found != target.address:
            if seen.found is not None:
                self._say(f"{host} has moved to {found[0]}")
                seen.answered = -1e9
            seen.found = found
            target.move(found)

    def rows(self) -> list[dict[str, Any]]:
        """Return a row for each controller, for JSON."""
        rows = []
        for target in self._targets():
            seen = self._seen.get(target.given, Seen())
            rows.append(
                {
                    "address": shown(target.given),
                    "at": target.address[0] if target.address else None,
                    "state": seen.state,
                    "why": seen.why,
                    "name": self._named.get(target.address[0], "") if target.address else "",
                    "since": seen.since.isoformat(timespec="seconds") if seen.since else None,
                    "sent": target.sent,
                    "lost": target.lost,
                }
            )
        return rows

    def close(self) -> None:
        """Say who is still away, and close what it asks by."""
        now = time.monotonic()
        for target in self._targets():
            seen = self._seen.get(target.given)
            if seen is not None and seen.state in AWAY:
                self._say(f"{shown(target.given)} is still away{seen.after(target, now)}")
        self._echo.close()
        if self._asker is not None:
            self._asker.close()


def _neighbours() -> dict[str, bool]:
    """Return this machine's neighbours by address, and whether each is known to be there."""
    found: dict[str, bool] = {}
    with contextlib.suppress(OSError, ValueError, IndexError):
        for line in _NEIGHBOURS.read_text("ascii").splitlines()[1:]:
            words = line.split()
            found[words[0]] = bool(int(words[2], 16) & 2)  # ATF_COM of linux/if_arp.h
    return found
