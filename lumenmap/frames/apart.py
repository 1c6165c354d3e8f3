"""Rendering in a process of its own, for effects that aren't ours: `Apart`.

An effect is code, and may loop for ever, end the process, or crash it. Here it takes only its own
process with it, and what it prints goes to the error stream. A block can have a time limit, as the
evening and a live page need. The other side is `lumenmap.frames.apart_worker`.

Strategy: a fresh Python, not a fork (threads and open files don't survive one) and not the
multiprocessing module's (which would run the user's own script again). Messages are pickles after
their length; a thread reads them, so that waiting can end.
"""

from __future__ import annotations

import contextlib
import pickle
import queue
import subprocess
import sys
import threading
import time
from collections.abc import Callable, Iterator
from types import TracebackType
from typing import Any, TypeVar

from lumenmap.frames.apart_worker import read_message, write_message
from lumenmap.frames.evaluate import EffectError, Light
from lumenmap.frames.planned import Plan
from lumenmap.frames.render import default_block, render_block

R = TypeVar("R")

#: Starting Python and loading a plan takes under 2 s; under load it may take many times that.
_SECONDS_TO_START, _SECONDS_TO_END = 120.0, 5.0
_START = (
    "import sys; sys.path[:] = sys.argv[1:]; from lumenmap.frames.apart_worker import main; main()"
)


class Apart:
    """A process that knows a plan and works on it; use as a context manager."""

    def __init__(self, plan: Plan) -> None:
        self._plan = plan

    def __enter__(self) -> Apart:
        self._process = subprocess.Popen(
            [sys.executable, "-c", _START, *sys.path],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
        )
        self._told: queue.Queue[tuple[Any, ...] | None] = queue.Queue()
        self._listener = threading.Thread(target=self._listen, daemon=True)
        self._listener.start()
        self._where = "the effects of the show"
        try:
            self._answer(self._plan, _SECONDS_TO_START)
        except BaseException:
            self._end()
            raise
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self._end()

    def ask(self, function: Callable[..., R], *words: Any, seconds: float | None = None) -> R:
        """Return ``function(plan, *words)``, worked out by the process.

        Parameters
        ----------
        function
            A function of a module.
        seconds
            How long it may take; without end if None. After that the process is gone.

        Raises
        ------
        EffectError
            An effect failed, took too long, or ended the process.
        """
        got: R = self._answer((function, words), seconds)
        return got

    def _answer(self, question: Any, seconds: float | None) -> Any:
        assert self._process.stdin is not None
        until = None if seconds is None else time.monotonic() + seconds
        try:
            write_message(self._process.stdin, pickle.dumps(question, protocol=5))
        except OSError:
            raise self._gone() from None
        while True:
            left = None if until is None else max(0.0, until - time.monotonic())
            try:
                told = self._told.get(timeout=left)
            except queue.Empty:
                self._end()
                raise EffectError(f"{self._where} took over {seconds:g} s for one block") from None
            if told is None:
                raise self._gone()
            kind, value = told
            if kind == "at":
                self._where = value
            elif kind == "done":
                return value
            elif kind == "wrong":
                raise EffectError(value)
            else:
                raise RuntimeError(f"rendering apart failed:\n{value}")

    def _listen(self) -> None:
        assert self._process.stdout is not None
        while (data := read_message(self._process.stdout)) is not None:
            self._told.put(pickle.loads(data))
        self._told.put(None)

    def _gone(self) -> EffectError:
        code = self._process.wait()
        how = f"exit code {code}" if code >= 0 else f"signal {-code}"
        return EffectError(f"{self._where} ended its process ({how})")

    def _end(self) -> None:
        self._process.kill()
        self._process.wait()
        self._listener.join(_SECONDS_TO_END)  # a pipe that is being read can't be closed
        for pipe in (self._process.stdin, self._process.stdout):
            # What was still to be written has no reader any more.
            with contextlib.suppress(OSError):
                if pipe is not None and not self._listener.is_alive():
                    pipe.close()


def render_apart(
    plan: Plan,
    start: int = 0,
    stop: int | None = None,
    *,
    block: int | None = None,
    seconds: float | None = None,
) -> Iterator[Light]:
    """Render as `lumenmap.frames.render.render`, to the same bytes, in a process of its own.

    Parameters
    ----------
    seconds
        How long one block may take.

    Raises
    ------
    EffectError
        As `Apart.ask`.
    """
    stop = plan.show.frames if stop is None else stop
    step = block or default_block(plan.pixels)
    with Apart(plan) as process:
        for first in range(start, stop, step):
            yield process.ask(render_block, first, min(first + step, stop), seconds=seconds)
