"""Mutated files and options of every kind to the commands: ``python -m tests.fuzz 100000``.

Whatever stands in a file, a command ends with 0, 1 or 2, says what is wrong in a few lines, takes
less than `SECONDS` and grows by less than `MEGABYTES`. The seconds are the processor's, so that a
busy machine makes no case too long; one that waits is found by the clock, at `WAITS` times as many. Case n of a seed is always the same, so
``python -m tests.fuzz 1 --from 4711`` runs one again. A short run is `tests.cli.test_fuzz`; what is
mutated, and how, stands in `tests.cli.fuzz_cases`.
"""

from __future__ import annotations

import argparse
import contextlib
import io
import os
import re
import signal
import sys
import tempfile
import time
import traceback
from collections import Counter
from concurrent.futures import ProcessPoolExecutor
from pathlib import Path
from unittest import mock

from tests.cli.fuzz_cases import Case, case, prepare, surroundings

SECONDS, MEGABYTES, WAITS = 20, 1000, 6


class TooLongError(BaseException):
    """A command took more than `SECONDS`; not an Exception, which a decoder's guard would take."""


def run(folder: Path, tried: Case, good: bytes) -> str:
    """Run a case in this process; return what is wrong with how it ended, or nothing."""
    if tried.file:
        (folder / tried.file).write_bytes(tried.data)
    words = [word.replace("DIR", str(folder)) for word in tried.words]
    before = _peak(reset=True)
    try:
        with mock.patch.dict(os.environ, surroundings(folder)):
            wrong = _ended(words)
    finally:
        if tried.file:
            (folder / tried.file).write_bytes(good)
    grown = _peak() - before
    if not wrong and grown > MEGABYTES:
        wrong = f"grew by {grown:.0f} MB"
    return wrong


def _ended(words: list[str]) -> str:
    from lumenmap.cli import main

    def late(*_: object) -> None:
        raise TooLongError

    out, err, argv = io.StringIO(), io.StringIO(), sys.argv
    signal.signal(signal.SIGPROF, late)
    signal.signal(signal.SIGALRM, late)
    signal.setitimer(signal.ITIMER_PROF, SECONDS)
    signal.setitimer(signal.ITIMER_REAL, SECONDS * WAITS)
    sys.argv = ["lumenmap", *words]
    try:
        with contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
            main()
        code: object = 0
    except SystemExit as stop:
        code = stop.code or 0
    except TooLongError:
        return f"took over {SECONDS} s"
    except BaseException:
        return traceback.format_exc()
    finally:
        signal.setitimer(signal.ITIMER_REAL, 0)
        signal.setitimer(signal.ITIMER_PROF, 0)
        sys.argv = argv
    if code not in (0, 1, 2):
        return f"exit code {code}: {err.getvalue()[-2000:]}"
    if code == 2 and not err.getvalue().strip():
        return "exit code 2 without a word"
    if "Warning" in err.getvalue():
        return f"a warning of Python's: {err.getvalue()[-2000:]}"
    return ""


def _peak(*, reset: bool = False) -> float:
    """Return the most memory that this process has had, MB, since it was last reset."""
    if reset:
        with contextlib.suppress(OSError):
            Path("/proc/self/clear_refs").write_text("5")
    try:
        lines = Path("/proc/self/status").read_text().splitlines()
    except OSError:
        return 0.0
    return next(int(x.split()[1]) / 1024 for x in lines if x.startswith("VmHWM"))


def batch(numbers: range, seed: int) -> list[tuple[Case, str]]:
    """Run some cases; return those that ended badly, each with what was wrong."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        found, bad = prepare(folder), []
        good = {file: (folder / file).read_bytes() for file in found} | {"": b""}
        for number in numbers:
            tried = case(number, seed, found)
            wrong = run(folder, tried, good[tried.file])
            if wrong:
                bad.append((tried, wrong))
    return bad


def main() -> None:
    """Run many cases and print what ended badly, each kind once."""
    words = argparse.ArgumentParser(description=__doc__)
    words.add_argument("cases", type=int)
    words.add_argument("--seed", type=int, default=1)
    words.add_argument("--from", type=int, default=0, dest="first")
    words.add_argument("--workers", type=int, default=1)
    chosen = words.parse_args()
    last, began = chosen.first + chosen.cases, time.monotonic()
    spans = [range(i, min(i + 250, last)) for i in range(chosen.first, last, 250)]
    kinds: Counter[str] = Counter()
    # Processes that end after some tasks can leave the pool of Python 3.11 waiting for ever.
    with ProcessPoolExecutor(chosen.workers) as pool:
        for span, bad in zip(
            spans, pool.map(batch, spans, [chosen.seed] * len(spans)), strict=True
        ):
            for tried, wrong in bad:
                kind = re.sub(r"\d+", "9", wrong.strip().splitlines()[-1])[:100]
                kinds[kind] += 1
                if kinds[kind] == 1:
                    print(f"case {tried.number}: {tried.words}\n{wrong[-1500:]}", flush=True)
            if span.stop % 5000 == 0:
                print(f"{span.stop:,}: {time.monotonic() - began:.0f} s", flush=True)
    for kind, count in kinds.most_common():
        print(f"{count:6}  {kind}")
    seconds = time.monotonic() - began
    print(f"{chosen.cases:,} cases, {kinds.total():,} ended badly, {seconds:.0f} s")
    sys.exit(1 if kinds else 0)


if __name__ == "__main__":
    main()
