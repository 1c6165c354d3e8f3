"""What is known of one controller, and the sentences about its coming and going.

One absence is one pair of sentences: that it is gone, and that it is back. A controller that starts
gives no sign at first, then refuses packets, then takes them; that it refuses is told only if it
goes on doing so.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import Literal

from lumenmap.controller.e131.addresses import Address, shown
from lumenmap.controller.e131.target import REFUSED, UNNAMED, Target
from lumenmap.core.wording import how_long

State = Literal["there", "refuses", "no sign", "not known"]

#: A host that answered is missed after so long without an answer (s); a neighbour that is sent to
#: counts as there when its entry has outlived the kernel's own checks, 30 s to 45 s and 8 s of
#: asking (arp(7): base_reachable_time, delay_first_probe_time, ucast_solicit).
_MISSED, _ARP_SECONDS = 20.0, 60.0
#: So long (s) an entry without an answer may still be waiting for its first.
_ASKING_SECONDS = 5.0
#: A short loss is told at most so often (s), with those in between.
_SELDOM = 60.0
#: One that is away in another way than was told is told again if that lasts for so long (s).
_LASTING = 60.0
#: Signs of absence have stopped for so long (s) when it may be back. A neighbour that refused, and
#: is then switched off, gives none until the kernel has asked for it in vain; that takes longer.
_QUIET = 10.0
AWAY, _UNANSWERED = ("no sign", "refuses"), "no longer answers "
PING = "ping"


@dataclass(slots=True)
class Seen:
    """What is known of one target; times without a date are monotonic, s."""

    state: State = "not known"
    why: str = ""
    since: datetime | None = None
    changed: float = 0.0  # when its state did
    answered: float = -1e9  # when it last answered
    by: str = PING  # what it answered
    looked_up: float = -1e9
    found: Address | None = None
    asking: float | None = None  # since when its neighbour's entry has no answer
    gone: float = 0.0  # since when it is away
    said: State = "not known"  # the absence that was told
    quiet: float | None = None  # since when nothing shows whether it is there
    unsure: bool = False  # it may be back, and nothing has shown so yet
    lost: int = 0  # packets whose loss was told, or is that of now
    lost_for: float = 0.0  # the target's, of those (s)
    told: float = -1e9  # when a short loss was last told

    def judge(
        self, target: Target, neighbour: bool | None, now: float, wall: datetime
    ) -> list[str]:
        """Take up what was found out at a look; return what there is to say of it.

        Parameters
        ----------
        neighbour
            Whether its machine is known on the local network; None if it has no entry there.
        """
        if neighbour is not False:
            self.asking = None
        elif self.asking is None:
            self.asking = now
        state, why = self._state(target, neighbour, now)
        words = self._change(target, state, why, now, wall) if state != self.state else ""
        self.why = why
        other = state in AWAY and state != self.said and self.quiet is None
        if not words and other and now - self.changed >= _LASTING:
            words = self._gone(target)
        return [text for text in (words, self._short(target, now)) if text]

    def _state(self, target: Target, neighbour: bool | None, now: float) -> tuple[State, str]:
        why, quiet = target.why, self.quiet
        self.quiet = None
        if why == UNNAMED and target.address is not None:
            why = ""  # it has been found since the last packet
        if why == REFUSED:
            return "refuses", f"nothing listens on port {target.given[1]}"
        if why:
            return "no sign", why
        if now - self.answered < _MISSED:
            return "there", f"answers {self.by}"
        if self.answered > 0 and self.why == f"answers {self.by}":
            return "no sign", _UNANSWERED + self.by
        if self.asking is not None and now - self.asking > _ASKING_SECONDS:
            return "no sign", "not found on the local network"
        # Nothing says that it is away, and nothing yet that it is there.
        self.quiet = now if quiet is None else quiet
        if neighbour and target.sent and now - self.quiet > _ARP_SECONDS:
            return "there", "answers ARP"
        known = self.state not in AWAY or self.why.startswith(_UNANSWERED)
        known |= self.asking is not None  # the kernel has just lost it, and soon says so
        if known or now - self.quiet < (2 * _ARP_SECONDS if neighbour else _QUIET):
            return self.state, self.why
        return "not known", ""

    def _change(self, target: Target, state: State, why: str, now: float, wall: datetime) -> str:
        before, self.state, self.why = self.state, state, why
        self.since, self.changed = wall, now
        words = ""
        if state in AWAY:
            if before not in AWAY:
                self.gone = _began(target, self, now)
                words = self._gone(target)
        elif before in AWAY or self.unsure:
            words = self._back(target, now)
            self.unsure = state == "not known"
            self._count(target)
        return words

    def _gone(self, target: Target) -> str:
        self.said = self.state
        name = shown(target.given)
        if self.state == "refuses":
            return f"{name} refuses packets: {self.why}; the machine is there"
        return f"no sign of {name}: {self.why}"

    def _back(self, target: Target, now: float) -> str:
        name = shown(target.given)
        after = self.after(target, now if self.quiet is None else self.quiet)
        if self.state == "there":
            return f"{name} is back{after}"
        if self.said == "refuses":
            return f"{name} no longer refuses packets{after}"
        return f"{name} may be back{after}; it gives no answer, so that isn't known"

    def after(self, target: Target, now: float) -> str:
        """Return how long it is away, and what was lost meanwhile."""
        lost = target.lost - self.lost
        return f" after {how_long(now - self.gone, 0)}" + (f": {_lost(lost)}" if lost else "")

    def _short(self, target: Target, now: float) -> str:
        """Return what there is to say of losses between two looks; the empty string if nothing."""
        short = target.lost - self.lost
        if not short or self.state in AWAY or now - self.told < _SELDOM:
            return ""
        seconds = target.away - self.lost_for
        within = f" in {how_long(seconds, 1)}" if seconds >= 0.1 else ""
        self._count(target)
        self.told = now
        return f"{shown(target.given)}: {_lost(short)}{within}: {target.last}"

    def _count(self, target: Target) -> None:
        """Take what was lost until now for told."""
        self.lost, self.lost_for = target.lost, target.away


def _began(target: Target, seen: Seen, now: float) -> float:
    """Return when its absence began, which is noticed later (s, monotonic)."""
    if target.why:
        return target.since
    if seen.why == _UNANSWERED + seen.by:
        return seen.answered
    return now if seen.asking is None else seen.asking


def _lost(packets: int) -> str:
    return f"{packets:,} packet{'s' * (packets != 1)} lost"
