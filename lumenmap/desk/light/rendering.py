"""Rendering for the desk: in this process, or apart from it for effects that aren't ours."""

from __future__ import annotations

import threading

from lumenmap.frames.apart import Apart
from lumenmap.frames.evaluate import Light
from lumenmap.frames.planned import Plan
from lumenmap.frames.render import render_block

#: An effect of a folder that takes longer for one block is given up (s).
SECONDS = 5.0


class Rendering:
    """Renders any block of any plan; the process for effects of folders is kept for the next."""

    def __init__(self) -> None:
        self._lock = threading.Lock()
        self._apart: Apart | None = None

    def __call__(self, plan: Plan, first: int, last: int) -> Light:
        """Render frames ``first`` to ``last`` (not included) as (T, N, 3) light.

        Raises
        ------
        EffectError
            An effect fails, or takes too long.
        """
        if not foreign(plan):
            return render_block(plan, first, last)
        with self._lock:
            if self._apart is None:
                self._apart = Apart(plan).__enter__()
            try:
                return self._apart.ask(_render_other, plan, first, last, seconds=SECONDS)
            except BaseException:
                self._end()
                raise

    def forget(self) -> None:
        """End the process, so that effect files that have changed are read again."""
        with self._lock:
            self._end()

    def _end(self) -> None:
        if self._apart is not None:
            self._apart.__exit__(None, None, None)
            self._apart = None


def foreign(plan: Plan) -> bool:
    """Return whether a plan has effects from folders, which may do anything."""
    return any(layer.effect.from_folder for cue in plan.show.cues for layer in cue.layers)


def _render_other(known: Plan, plan: Plan, first: int, last: int) -> Light:
    """Render another plan than the one that the process began with."""
    del known
    return render_block(plan, first, last)
