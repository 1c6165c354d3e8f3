"""Mutated files of every kind to the commands that read them: ``python -m tests.fuzz 100000``.

Whatever stands in a file, a command ends with 0, 1 or 2, says what is wrong in a few lines, takes
less than `SECONDS` and grows by less than `MEGABYTES`. Case n of a seed is always the same, so
``python -m tests.fuzz 1 --from 4711`` runs one again. A short run is `tests.cli.test_fuzz`. The files
that are mutated are the invented examples and the small house.
"""

from __future__ import annotations

import argparse
import contextlib
import io
import random
import re
import signal
import sys
import tempfile
import time
import traceback
from collections import Counter
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from pathlib import Path

from tests.small_house import HOUSE

SECONDS, MEGABYTES = 20, 1000
ROOT = Path(__file__).resolve().parents[1]

SHOW = """
[show]
house = "house.toml"
fps = 5
length = "1 s"
cross = "0.2 s"
[palette.two]
stops = ["#ff0000", { colour = "oklch(0.6 0.1 240)", at = 0.5 }]
[[cue]]
length = "0.8 s"
fade_in = "0.2 s"
[[cue.layer]]
effect = "chase"
palette = "two"
on = ["main/rake-left"]
blend = "screen"
speed = "4 ft/s"
[[cue.layer]]
effect = "picture"
file = "picture.gif"
opacity = 0.5
[limit]
mode = "glide"
"""
#: Kind of file -> the commands that read it. "DIR" is the case's folder.
COMMANDS = {
    "house.toml": (
        ("map", "DIR/house.toml"),
        ("power", "DIR/house.toml"),
        ("check", "DIR/show.toml"),
        ("check", "DIR/out/frames.json", "--house", "DIR/house.toml"),
    ),
    "show.toml": (("check", "DIR/show.toml"), ("check", "DIR/show.toml", "--json")),
    "almanac.toml": (
        ("tonight", "DIR/almanac.toml", "--on", "2026-12-05"),
        ("year", "DIR/almanac.toml", "2026"),
    ),
    "out/frames.json": (("check", "DIR/out/frames.json"),),
    "out/frames.rgb": (("check", "DIR/out/frames.json"),),
    "picture.gif": (
        ("check", "DIR/show.toml"),
        ("palette", "new", "found", "--photo", "DIR/picture.gif"),
    ),
}
_STRANGE = (
    *("nan", "inf", "-inf", "1e308", "-1e308", "0", "-1", "1e-308", "9" * 30, "9" * 5000, "true"),
    *('""', '"99999999 ft"', '"1e400 s"', '"\\u0000"', '"\\u202e abc"', '"../../etc/passwd"', "[]"),
    *("{}", "[[[]]]", "2026-02-30", "1979-05-27T07:32:00Z", '"' + "x" * 3000 + '"', '"12 ft 6"'),
    *('"a\\nb"', '"<script>"', '"*"', '"main/*"', '"FREQ=YEARLY;BYDAY=99MO"', '"%s%n"', "'''"),
)


@dataclass(frozen=True)
class Case:
    """One mutated file and the command it is given to."""

    number: int
    file: str
    data: bytes
    words: tuple[str, ...]


def originals() -> dict[str, list[bytes]]:
    """Return the files to mutate, by name; see `COMMANDS`."""
    from PIL import Image

    frames = [Image.linear_gradient("L").resize((24, 16)).rotate(90 * i) for i in range(3)]
    pictures = []
    for kind in ("GIF", "PNG", "JPEG", "WEBP"):
        out = io.BytesIO()
        more = {} if kind == "JPEG" else {"save_all": True, "append_images": frames[1:]}
        frames[0].convert("RGB").save(out, kind, **more)
        pictures.append(out.getvalue())
    examples = ROOT / "examples"
    houses = [HOUSE.encode(), *(p.read_bytes() for p in sorted(examples.glob("*/house.toml")))]
    return {
        "house.toml": houses,
        "show.toml": [SHOW.encode()],
        "almanac.toml": [p.read_bytes() for p in sorted(examples.glob("*/almanac.toml"))],
        "picture.gif": pictures,
    }


def prepare(folder: Path) -> dict[str, list[bytes]]:
    """Lay good files into a folder, with an export of them; return what to mutate."""
    import lumenmap

    found = originals()
    (folder / "house.toml").write_bytes(found["house.toml"][0])
    (folder / "show.toml").write_bytes(found["show.toml"][0])
    (folder / "picture.gif").write_bytes(found["picture.gif"][0])
    lumenmap.export(lumenmap.load(folder / "show.toml"), folder / "out")
    for name in ("out/frames.json", "out/frames.rgb"):
        found[name] = [(folder / name).read_bytes()]
    return found


def case(number: int, seed: int, found: dict[str, list[bytes]]) -> Case:
    """Return case ``number``: the file, mutated, and a command that reads it."""
    rng = random.Random(f"{seed} {number}")
    file = rng.choice(sorted(found))
    data = rng.choice(found[file])
    text = file.endswith((".toml", ".json"))
    for _ in range(rng.choice((1, 1, 1, 2, 3, 6))):
        data = _text(data, rng) if text and rng.random() < 0.8 else _bytes(data, rng)
    return Case(number, file, data, rng.choice(COMMANDS[file]))


def _bytes(data: bytes, rng: random.Random) -> bytes:
    if not data:
        return bytes(rng.randrange(256) for _ in range(8))
    a, b = sorted(rng.randrange(len(data) + 1) for _ in range(2))
    kind = rng.randrange(5)
    if kind == 0:
        return data[:a]
    if kind == 1:
        return data[:a] + data[b:]
    if kind == 2:
        return data[:b] + data[a:]
    if kind == 3:
        return data[:a] + bytes(rng.randrange(256) for _ in range(rng.randrange(1, 9))) + data[a:]
    out = bytearray(data)
    for _ in range(rng.randrange(1, 5)):
        out[rng.randrange(len(out))] = rng.randrange(256)
    return bytes(out)


def _text(data: bytes, rng: random.Random) -> bytes:
    """Change a value, a key, or the order of lines: what is still a file of its kind."""
    lines = data.decode("utf-8", "replace").split("\n")
    at = rng.randrange(len(lines))
    kind = rng.randrange(7)
    if kind <= 2:
        values = list(re.finditer(r'"[^"\n]*"|-?\d+(\.\d+)?', "\n".join(lines)))
        if values:
            chosen, text = rng.choice(values), "\n".join(lines)
            return (text[: chosen.start()] + rng.choice(_STRANGE) + text[chosen.end() :]).encode()
    elif kind == 3:
        del lines[at]
    elif kind == 4:
        lines[at:at] = [lines[at]] * rng.choice((1, 1, 2, 300))
    elif kind == 5:
        other = rng.randrange(len(lines))
        lines[at], lines[other] = lines[other], lines[at]
    else:
        words = re.split(r"(\w+)", lines[at])
        words[rng.randrange(len(words))] = rng.choice(
            ("x", "[", "]", '"a[b]"', "=", ".", "ü", "\x00", "\u202e", "name", "[" * 400, "{" * 400)
        )
        lines[at] = "".join(words)
    return "\n".join(lines).encode("utf-8", "replace")


class TooLongError(BaseException):
    """A command took more than `SECONDS`; not an Exception, which a decoder's guard would take."""


def run(folder: Path, tried: Case, good: bytes) -> str:
    """Run a case in this process; return what is wrong with how it ended, or nothing."""
    (folder / tried.file).write_bytes(tried.data)
    words = [word.replace("DIR", str(folder)) for word in tried.words]
    before, began = _peak(reset=True), time.monotonic()
    try:
        wrong = _ended(words)
    finally:
        (folder / tried.file).write_bytes(good)
    grown = _peak() - before
    if not wrong and grown > MEGABYTES:
        wrong = f"grew by {grown:.0f} MB"
    if not wrong and time.monotonic() - began > SECONDS:
        wrong = f"took {time.monotonic() - began:.0f} s"
    return wrong


def _ended(words: list[str]) -> str:
    from lumenmap.cli import main

    def late(*_: object) -> None:
        raise TooLongError

    out, err, argv = io.StringIO(), io.StringIO(), sys.argv
    signal.signal(signal.SIGALRM, late)
    signal.alarm(SECONDS)
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
        signal.alarm(0)
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
        good = {
            file: (folder / file).read_bytes() if (folder / file).exists() else b""
            for file in found
        }
        for number in numbers:
            tried = case(number, seed, found)
            if wrong := run(folder, tried, good[tried.file]):
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
        for bad in pool.map(batch, spans, [chosen.seed] * len(spans)):
            for tried, wrong in bad:
                kind = re.sub(r"\d+", "9", wrong.strip().splitlines()[-1])[:100]
                kinds[kind] += 1
                if kinds[kind] == 1:
                    print(f"case {tried.number}: {tried.words}\n{wrong[-1500:]}", flush=True)
    for kind, count in kinds.most_common():
        print(f"{count:6}  {kind}")
    seconds = time.monotonic() - began
    print(f"{chosen.cases:,} cases, {kinds.total():,} ended badly, {seconds:.0f} s")
    sys.exit(1 if kinds else 0)


if __name__ == "__main__":
    main()
