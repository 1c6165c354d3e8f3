"""The process that `lumenmap.frames.apart` starts: it works on a plan until its input ends.

Messages out: ``("at", where)`` before an effect is called, then ``("done", value)``,
``("wrong", text)`` if an effect is at fault, or ``("fault", traceback)`` if we are.
"""

from __future__ import annotations

import os
import pickle
import queue
import signal
import sys
import threading
import traceback
from collections.abc import Callable
from dataclasses import replace
from typing import IO, TYPE_CHECKING, Any

if TYPE_CHECKING:
    from lumenmap.frames.planned import Plan, PlannedLayer


def read_message(pipe: IO[bytes]) -> bytes | None:
    """Return the next message, or None at the end, even one in the middle of a message."""
    try:
        head = pipe.read(8)
        size = int.from_bytes(head, "little")
        data = pipe.read(size) if len(head) == 8 else b""
    except (OSError, ValueError):  # the other side is gone, or this one has been closed
        return None
    return data if len(head) == 8 and len(data) == size else None


def write_message(pipe: IO[bytes], data: bytes) -> None:
    """Write a message: its length in eight bytes, and itself."""
    pipe.write(len(data).to_bytes(8, "little"))
    pipe.write(data)
    pipe.flush()


def main() -> None:
    """Answer questions until there are no more."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # Ctrl-C is for who started us
    out = os.fdopen(os.dup(1), "wb")
    os.dup2(2, 1)  # what effects print, even from C
    sys.stdout = sys.stderr
    questions: queue.Queue[bytes] = queue.Queue()
    threading.Thread(target=_listen, args=(questions,), daemon=True).start()

    def tell(kind: str, value: object) -> None:
        write_message(out, pickle.dumps((kind, value), protocol=5))

    plan: Plan | None = None
    while True:
        data = questions.get()
        try:
            question = pickle.loads(data)
            if plan is None:
                plan, answer = _telling(question, tell), None
            else:
                function, words = question
                answer = function(plan, *words)
            tell("done", answer)
        except BaseException as error:
            _tell_error(error, tell)


def _listen(questions: queue.Queue[bytes]) -> None:
    while (data := read_message(sys.stdin.buffer)) is not None:
        questions.put(data)
    os._exit(0)  # whoever asked is gone, and an effect may be in an endless loop


def _tell_error(error: BaseException, tell: Callable[[str, object], None]) -> None:
    from lumenmap.core.errors import LumenmapError

    if isinstance(error, LumenmapError):
        tell("wrong", str(error))
    else:
        tell("fault", "".join(traceback.format_exception(error)))


def _telling(plan: Plan, tell: Callable[[str, object], None]) -> Plan:
    """Return the plan with effects that tell where they are called before they begin."""

    def told(planned: PlannedLayer) -> PlannedLayer:
        layer, effect = planned.layer, planned.layer.effect

        def function(*places: Any, **options: Any) -> Any:
            tell("at", f'{layer.key}: effect "{effect.name}" ({effect.source})')
            return effect.function(*places, **options)

        return replace(planned, layer=replace(layer, effect=replace(effect, function=function)))

    tiles = tuple(
        replace(
            tile,
            cues=tuple(
                replace(cue, layers=tuple(told(layer) for layer in cue.layers)) for cue in tile.cues
            ),
        )
        for tile in plan.tiles
    )
    return replace(plan, tiles=tiles)
