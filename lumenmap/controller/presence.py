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
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Any, Literal

from lumenmap.controller.artnet.poll import Node
from lumenmap.controller.discovery import Asker
from lumenmap.controller.e131.addresses import Address, is_numeric, look_up, shown
from lumenmap.controller.e131.echo import Echo
from lumenmap.controller.e131.target import REFUSED, UNNAMED, Target
from lumenmap.core.errors import InputError
from lumenmap.core.wording import how_long

State = Literal["there", "refuses", "no sign", "not known"]

#: A host that answered is missed after so long without an answer (s); a neighbour that is sent to
#: counts as there when its entry has outlived the kernel's own checks, 30 s to 45 s and 8 s of
#: asking (arp(7): base_reachable_time, delay_first_probe_time, ucast_solicit).
_MISSED, _ARP_SECONDS = 20.0, 60.0
#: So long (s) an entry without an answer may still be waiting for its first.
_ASKING_SECONDS = 5.0
#: Names are looked up so often while their host gives no sign, and otherwise (s).
_LOOK_UP_ABSENT, _LOOK_UP = 15.0, 300.0
#: A short loss is told at most so often (s), with those in between.
_SELDOM = 60.0
_AWAY, _UNANSWERED = ("no sign", "refuses"), "no longer answers "
_NEIGHBOURS = Path("/proc/net/arp")
_PING, _POLL = "ping", "Art-Net polls"
#: So long (s) answers to a poll are waited for; those that come later are read at the next look.
_POLL_SECONDS = 0.3


@dataclass(slots=True)
class _Seen:
    """What is known of one target."""

    state: State = "not known"
    why: str = ""
    since: datetime | None = None
    answered: float = -1e9  # when it last answered (s, monotonic)
    by: str = _PING  # what it answered
    looked_up: float = -1e9
    found: Address | None = None
    first: float = 0.0
    asking: float | None = None  # since when its neighbour's entry has no answer
    gone: float = 0.0  # since when it is away (s, monotonic)
    unsure: bool = False  # it may be back, and nothing has shown so yet
    lost: int = 0  # packets whose loss was told, or is that of now
    told: float = -1e9  # when a short loss was last told (s, monotonic)


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
        self._seen: dict[Address, _Seen] = {}
        self._echo, self._asker = Echo(), asker
        self._named: dict[str, str] = {}  # what controllers that answered a poll call themselves

    def look(self) -> None:
        """Look names up, ask hosts, read what came back; may take seconds for names."""
        targets = list(self._targets())
        now = time.monotonic()
        for target in targets:
            seen = self._seen.setdefault(target.given, _Seen(first=now))
            self._name(target, seen)
        hosts = {t.address[0] for t in targets if t.address is not None}
        answered = dict.fromkeys(self._polled(), _POLL)
        answered |= dict.fromkeys(self._echo.ask(hosts), _PING)
        neighbours = _neighbours()
        now = time.monotonic()
        for target in targets:
            seen = self._seen[target.given]
            host = target.address[0] if target.address else ""
            if host in answered:
                seen.answered, seen.by = now, answered[host]
            self._judge(target, seen, neighbours.get(host), now)

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

    def _name(self, target: Target, seen: _Seen) -> None:
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

    def _judge(self, target: Target, seen: _Seen, neighbour: bool | None, now: float) -> None:
        state, why = seen.state, seen.why
        if neighbour is not False:
            seen.asking = None
        elif seen.asking is None:
            seen.asking = now
        why_now = target.why
        if why_now == UNNAMED and target.address is not None:
            why_now = ""  # it has been found since the last packet
        if why_now == REFUSED:
            state, why = "refuses", f"nothing listens on port {target.given[1]}"
        elif why_now:
            state, why = "no sign", why_now
        elif now - seen.answered < _MISSED:
            state, why = "there", f"answers {seen.by}"
        elif seen.answered > 0 and seen.why == f"answers {seen.by}":
            state, why = "no sign", _UNANSWERED + seen.by
        elif seen.asking is not None and now - seen.asking > _ASKING_SECONDS:
            state, why = "no sign", "not found on the local network"
        elif neighbour and target.sent and now - seen.first > _ARP_SECONDS:
            state, why = "there", "answers ARP"
        elif state in _AWAY and not why.startswith(_UNANSWERED):
            state, why = "not known", ""
        if state != seen.state:
            self._change(target, seen, state, why, now)
        seen.why = why
        short = target.lost - seen.lost  # it was away between two looks
        if short and state not in _AWAY and now - seen.told >= _SELDOM:
            self._say(f"{shown(target.given)}: {_lost(short)}: {target.last}")
            seen.lost, seen.told = target.lost, now

    def _change(self, target: Target, seen: _Seen, state: State, why: str, now: float) -> None:
        before, name, after = seen.state, shown(target.given), ""
        seen.state, seen.since = state, self._wall()
        if state not in _AWAY:
            after, seen.lost = _after(target, seen, now), target.lost
        elif before not in _AWAY:
            seen.gone = _began(target, seen, why, now)
        if state == "no sign":
            self._say(f"no sign of {name}: {why}")
        elif state == "refuses":
            self._say(f"{name} refuses packets: {why}; the machine is there")
        elif state == "there" and (before in _AWAY or seen.unsure):
            self._say(f"{name} is back{after}")
        elif before == "no sign":
            self._say(f"{name} may be back{after}; it gives no answer, so that isn't known")
        elif before == "refuses":
            self._say(f"{name} no longer refuses packets{after}")
        seen.unsure = state == "not known" and before in _AWAY

    def rows(self) -> list[dict[str, Any]]:
        """Return a row for each controller, for JSON."""
        rows = []
        for target in self._targets():
            seen = self._seen.get(target.given, _Seen())
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
            if seen is not None and seen.state in _AWAY:
                self._say(f"{shown(target.given)} is still away{_after(target, seen, now)}")
        self._echo.close()
        if self._asker is not None:
            self._asker.close()


def _began(target: Target, seen: _Seen, why: str, now: float) -> float:
    """Return when its absence began, which is noticed later (s, monotonic)."""
    if target.why:
        return target.since
    if why == _UNANSWERED + seen.by:
        return seen.answered
    return now if seen.asking is None else seen.asking


def _after(target: Target, seen: _Seen, now: float) -> str:
    lost = target.lost - seen.lost
    return f" after {how_long(now - seen.gone, 0)}" + (f": {_lost(lost)}" if lost else "")


def _lost(packets: int) -> str:
    return f"{packets:,} packet{'s' * (packets != 1)} lost"


def _neighbours() -> dict[str, bool]:
    """Return this machine's neighbours by address, and whether each is known to be there."""
    found: dict[str, bool] = {}
    with contextlib.suppress(OSError, ValueError, IndexError):
        for line in _NEIGHBOURS.read_text("ascii").splitlines()[1:]:
            words = line.split()
            found[words[0]] = bool(int(words[2], 16) & 2)  # ATF_COM of linux/if_arp.h
    return found
