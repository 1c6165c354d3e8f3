"""One version of a show, rendered piece by piece: codes, amps, and what the flash check finds.

Strategy: the limiter's plan needs the whole show, and an edit must not wait for it. Until the plan
is there, frames are limited by the plan of the version before, or each by itself; the limiter
checks the current of every frame's codes in either case, so all codes are within every budget. Work
is cut into steps of one chunk, so that it can be dropped as soon as there is a newer version.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from lumenmap.codes.flashes import Flashing
from lumenmap.codes.flashing import FlashCounter
from lumenmap.codes.order import to_wire
from lumenmap.desk.describe.hidden import hidden_layers
from lumenmap.desk.describe.house import budget_order
from lumenmap.desk.wire import facts
from lumenmap.desk.wire.stretch import Stretch
from lumenmap.desk.wire.told import Findings
from lumenmap.frames.evaluate import Light
from lumenmap.frames.planned import Plan
from lumenmap.frames.render import default_block
from lumenmap.jobs.project import Project
from lumenmap.jobs.sampled import light_of, seen
from lumenmap.power.limits.limit import Limited
from lumenmap.power.limits.limiter import Limiter

F = NDArray[np.float64]
Render = Callable[[Plan, int, int], Light]

#: Frames of a chunk, which is what is sent, checked and kept as one.
CHUNK = 32
#: Bytes of packed chunks that are kept for browsers that come later.
KEEP = 16 << 20


class Take:
    """A version of a show on its way to the browsers.

    Parameters
    ----------
    number, version
        As binary messages name it.
    render
        Renders a block.
    before
        Planned gains of the version before, if its frames and zones are the same.
    """

    def __init__(
        self, project: Project, number: int, version: int, render: Render, before: F | None = None
    ) -> None:
        self.project, self.number, self.version = project, number, version
        self._render = render
        self.frames = project.show.frames
        self.chunks = -(-self.frames // CHUNK)
        self._rows = np.array(budget_order(project.site))
        self._place = np.argsort(self._rows)  # a budget's number to the page's
        self._supplies = int(sum(k == "supply" for k in project.site.budgets.kinds))
        self._spans = [(s.slice, s.order) for s in project.site.pixels.lines]
        self._limiter = limiter = project.limiter
        self.final = not limiter.needs_plan
        if not self.final:
            self._bound = _bound(limiter, before, self.frames)
        self._demand: list[F] = []
        self._demanded = 0
        self._kept: dict[int, bytes] = {}
        self._kept_bytes = 0
        self.checked: set[int] = set()
        self._flashes: FlashCounter | None = None
        self._start = self._at = 0
        self.flashing: list[Flashing] = []
        self._most = np.zeros(len(self._rows))
        self._lowest, self._dimmed = 1.0, 0
        self._hidden = hidden_layers(project)

    @property
    def gains(self) -> F | None:
        """The planned gains, for the version after this one."""
        return self._limiter.gains

    @property
    def complete(self) -> bool:
        """Whether the whole show has been looked at."""
        return len(self.checked) == self.chunks

    def _limited(self, first: int, last: int) -> Limited:
        light = self._render(self.project.plan, first, last)
        limiter = self._limiter if self.final else self._bound
        return limiter.limit(light, first)

    def stretch(self, first: int, last: int) -> Stretch:
        """Return frames ``first`` to ``last`` (not included)."""
        return self._stretch(first, self._limited(first, last))

    def _stretch(self, first: int, got: Limited) -> Stretch:
        used = got.amps / self.project.site.budgets.amps
        full = used.argmax(axis=1)
        gain = got.gain if got.gain.ndim == 1 else got.gain.min(axis=1)
        return Stretch(
            self.number,
            self.version,
            first,
            to_wire(got.codes, self._spans),
            got.amps[:, self._rows[: self._supplies]],
            gain,
            used[np.arange(len(used)), full],
            self._place[full],
            self.final,
            self.flashes(first, first + len(got.codes)),
        )

    def flashes(self, first: int, last: int) -> bool:
        """Return whether the flash check has found anything in these frames."""
        fps = self.project.show.fps
        spans = [(f.start * fps, f.stop * fps) for f in self.flashing]
        # One that goes on across the end of the loop is at its beginning, too.
        return any(
            a - lap < last and b - lap >= first for a, b in spans for lap in (0, self.frames)
        )

    def state(self, chunk: int) -> int:
        """Return what a browser that has the newest form of a chunk has; it rises."""
        first = chunk * CHUNK
        return 1 + self.final + 2 * self.flashes(first, first + CHUNK)

    def packed(self, chunk: int, *, small: bool) -> bytes:
        """Return a chunk as a message; final ones are kept, if that isn't too much."""
        key = 2 * chunk + small
        if (known := self._kept.get(key)) is not None and self._has_flag(known, chunk):
            return known
        first = chunk * CHUNK
        made = self.stretch(first, min(first + CHUNK, self.frames)).pack(small=small)
        if self.final:
            self._keep(key, made)
        return made

    def _has_flag(self, packed: bytes, chunk: int) -> bool:
        first = chunk * CHUNK
        return bool(packed[1] & 4) == self.flashes(first, first + CHUNK)

    def _keep(self, key: int, made: bytes) -> None:
        self._kept_bytes += len(made) - len(self._kept.pop(key, b""))
        self._kept[key] = made
        while self._kept_bytes > KEEP:
            self._kept_bytes -= len(self._kept.pop(next(iter(self._kept))))

    def step(self, near: int) -> bool:
        """Do a little of what is to be done for the whole show; return whether there is more.

        ``near`` is a frame that somebody looks at: the check begins there.
        """
        if not self.final:
            self._plan_step()
            return True
        if self.complete:
            return False
        self._check_step(near)
        return not self.complete

    def _plan_step(self) -> None:
        step = default_block(self.project.plan.pixels)
        last = min(self._demanded + step, self.frames)
        light = self._render(self.project.plan, self._demanded, last)
        self._demand.append(self._limiter.demand(light))
        self._demanded = last
        if last == self.frames:
            self._limiter = self._limiter.plan(np.concatenate(self._demand))
            self._demand, self.final = [], True

    def _check_step(self, near: int) -> None:
        """Look at the next chunk: flashes, amps, dimming. The walk goes once round the loop."""
        site, show = self.project.site, self.project.show
        if self._flashes is None:
            self._flashes = FlashCounter(show.fps, site.flash_regions)
            self._start = self._at = min(near // CHUNK, self.chunks - 1)
        first = self._at * CHUNK
        got = self._limited(first, min(first + CHUNK, self.frames))
        self._flashes.add(seen(self.project, light_of(got.codes)))
        self._most = np.maximum(self._most, got.amps.max(axis=0))
        gain = got.gain if got.gain.ndim == 1 else got.gain.min(axis=1)
        self._lowest = min(self._lowest, float(gain.min()))
        self._dimmed += int((gain < 1).sum())
        self.checked.add(self._at)
        self._at = (self._at + 1) % self.chunks
        found = self._flashes.findings() if self.complete else self._flashes.so_far()
        self.flashing = _turned(found, self._start * CHUNK / show.fps, show.seconds)
        if self._kept_bytes + got.codes.nbytes < KEEP:
            self._keep(2 * (first // CHUNK), self._stretch(first, got).pack())
        if self.complete:
            self._flashes = None

    def findings(self, *, allowed: bool) -> Findings:
        """Return what is known by now."""
        budgets = self.project.site.budgets
        share = self._most / budgets.amps
        worst = int(share.argmax())
        binding = ""
        if self._lowest < 1:
            binding = f"{budgets.kinds[worst]} {budgets.names[worst]}"
        return Findings(
            file=self.project.show.file.name,
            version=self.version,
            complete=self.complete,
            flashing=[
                facts.Flash(start=f.start, stop=f.stop, sentence=str(f)) for f in self.flashing
            ],
            allowed=allowed,
            hidden=self._hidden,
            most_amps=[round(float(a), 4) for a in self._most[self._rows]],
            lowest_gain=round(self._lowest, 4),
            dimmed_share=self._dimmed / max(1, min(len(self.checked) * CHUNK, self.frames)),
            binding=binding,
        )


def _bound(limiter: Limiter, before: F | None, frames: int) -> Limiter:
    """Return a limiter that needs no look-ahead."""
    zones = int(limiter.zones.max()) + 1
    if before is not None and before.shape in ((frames, 1), (frames, zones)):
        return replace(limiter, gains=before)
    return replace(limiter, options=replace(limiter.options, mode="frame"))


def _turned(found: list[Flashing], offset: float, seconds: float) -> list[Flashing]:
    """Return findings of a walk that began at ``offset`` (s) in the show's own time."""
    turned = []
    for f in found:
        start = (f.start + offset) % seconds
        turned.append(f._replace(start=start, stop=start + f.stop - f.start))
    return sorted(turned, key=lambda f: (f.start, f.region, f.kind))
