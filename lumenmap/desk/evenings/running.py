"""What the evening's program says of itself."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path

from lumenmap.core.errors import InputError
from lumenmap.core.plain import plain
from lumenmap.desk.wire import evening_facts
from lumenmap.jobs.evening.status import read_status, status_file, unheard
from lumenmap.jobs.evening.status_words import words


def running(folder: Path, now: datetime) -> evening_facts.Running | None:
    """Return what the evening's program says of itself; None if it never ran for this folder."""
    try:
        status = read_status(folder)
    except InputError:
        return None
    held = unheard(status, status_file(folder), now)
    alive = held or status.alive(now)
    first, *rest = words(status, now, held=held)
    sentence = f"The evening's program: {first}." if alive else f"{first}."
    problems = list(status.problems)
    if held:
        problems.insert(0, "The evening's program can't say what it does: is its disk full?")
    return evening_facts.Running(
        alive=alive,
        sentence=plain(sentence[:1].upper() + sentence[1:], 300),
        lines=[plain(line, 400) for line in rest],
        problems=[plain(problem, 400) for problem in problems][:20],
    )
