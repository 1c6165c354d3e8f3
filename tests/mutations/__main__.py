"""Do the unit tests notice small mistakes? ``python -m tests.mutations [WORDS…]``.

Makes the mistakes of `tests.mutations.mutants` one at a time in temporary copies of the project, runs the
tests of that stage's own folder on each, and prints what was killed and by which test. WORDS choose
stages or files, ``limiter`` or ``units.py``; without them all are tried, which takes about a
quarter of an hour.
"""

from __future__ import annotations

import os
import queue
import re
import shutil
import subprocess
import sys
import tempfile
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

from tests.mutations.mutants import MUTANTS, Mutant

ROOT = Path(__file__).resolve().parents[2]
#: These take their time, or talk to other processes: the quick tests of their folder come first.
LATE = (
    "controller/test_network.py",
    "controller/test_flash.py",
    "power/test_ten_thousand_shows.py",
)
#: A mistake that makes tests run for so long (s) counts as noticed.
SECONDS = 400


def copied(place: Path) -> Path:
    """Copy what the tests need; the project itself is never changed."""
    leave = shutil.ignore_patterns(".*", "__pycache__", "*.egg-info", "build", "dist", "out")
    shutil.copytree(ROOT, place, ignore=leave)
    # As it is installed, so that the copy has its own effects too.
    (place / "lumenmap_effects").symlink_to("effects")
    return place


def write(file: Path, text: str) -> None:
    """Write a source file, and forget its bytecode: a new one may be as long and as old."""
    file.write_text(text, "utf-8")
    for old in file.parent.glob(f"__pycache__/{file.stem}.*.pyc"):
        old.unlink()


def tests(place: Path, folder: str) -> str | None:
    """Run a folder's tests until one fails; return its name, or None if all pass."""
    files = sorted(
        (place / folder).glob("test_*.py"), key=lambda f: (str(f).endswith(LATE), f.name)
    )
    words = [sys.executable, "-m", "pytest", "-x", "-q", "-p", "no:cacheprovider", *files]
    env = os.environ | {"PYTHONPATH": str(place)}
    try:
        done = subprocess.run(
            words, cwd=place, env=env, capture_output=True, text=True, timeout=SECONDS, check=False
        )
    except subprocess.TimeoutExpired:
        return f"(over {SECONDS} s)"
    if done.returncode == 0:
        return None
    failed = re.search(r"^(?:FAILED|ERROR) \S*/(\w+\.py(?:::\w+)?)", done.stdout, re.M)
    return failed[1] if failed else f"(exit code {done.returncode})"


def tried(mutant: Mutant, place: Path) -> str | None:
    """Make one mistake, run the tests, and take it back."""
    file = place / mutant.file
    text = file.read_text("utf-8")
    write(file, text.replace(mutant.old, mutant.new))
    try:
        return tests(place, mutant.folder)
    finally:
        write(file, text)


def short(text: str, most: int = 58) -> str:
    line = " ".join(text.split())
    return line if len(line) <= most else line[: most - 1] + "…"


def main() -> int:
    """Try the mistakes that the command line chooses; return how many lived, at most 1."""
    words = sys.argv[1:]
    chosen = [m for m in MUTANTS if not words or any(w in f"{m.stage} {m.file}" for w in words)]
    if stale := [m for m in chosen if (ROOT / m.file).read_text("utf-8").count(m.old) != 1]:
        lines = "\n".join(f"{m.file}: {short(m.old)}" for m in stale)
        raise SystemExit(
            f"tests/mutations/mutants.py is behind the code; these don't stand in it once:\n{lines}"
        )
    count = os.cpu_count() or 1
    with tempfile.TemporaryDirectory() as folder, ThreadPoolExecutor(count) as pool:
        places: queue.Queue[Path] = queue.Queue()
        for k in range(count):
            places.put(copied(Path(folder) / str(k)))

        def in_some_copy(job, *given):
            place = places.get()
            try:
                return job(*given, place)
            finally:
                places.put(place)

        folders = sorted({m.folder for m in chosen})
        sound = pool.map(lambda f: in_some_copy(lambda f, place: tests(place, f), f), folders)
        if red := [f"{name} ({test})" for name, test in zip(folders, sound, strict=True) if test]:
            raise SystemExit(f"red without any mistake: {', '.join(red)}")
        killed = 0
        for mutant, test in zip(
            chosen, pool.map(lambda m: in_some_copy(tried, m), chosen), strict=True
        ):
            killed += test is not None
            print(f"{mutant.stage:17} {short(mutant.old)}\n{'':14}-> {short(mutant.new)}")
            print(f"{'':17} {'LIVES' if test is None else test}", flush=True)
    print(f"killed {killed} of {len(chosen)}")
    return int(killed < len(chosen))


if __name__ == "__main__":
    sys.exit(main())
