"""What `tests.fuzz` gives to the commands: files of every kind that we read, and options, mutated.

The originals are the invented examples, the small house, what ``lumenmap new`` writes, and what the
commands make of them. Paths stay as they are, and what sends has ``--dry-run``: nothing leaves the
case's folder.
"""

from __future__ import annotations

import hashlib
import io
import os
import random
import re
from dataclasses import dataclass
from pathlib import Path
from unittest import mock

from tests.cli import fuzz_media
from tests.small_house import HOUSE

ROOT = Path(__file__).resolve().parents[2]

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
#: Every other key of a show.
RICH = """
[show]
name = "Rich"
house = "house.toml"
unit = "m"
fps = 4
length = "2 s"
tempo = 120
match_screen = true
seed = 7
[limit]
mode = "steady"
per = "branch"
slew = 0.5
dither = true
[palette.turn]
stops = ["#0b8a2a", "#fff2d0", "#c8102e"]
space = "oklch"
hue = "longer"
cyclic = false
steps = true
[[cue]]
name = "first"
start = "0 s"
length = "1 s"
fade = "0.2 s"
easing = "steps(4)"
[[cue.layer]]
effect = "gradient"
palette = "turn"
way = "across"
delay = "0.1 s"
pace = -2
[cue.layer.within]
across = [0, 5]
away = [-3, 9]
up = [0, "12 ft"]
[cue.layer.envelope]
at = ["0 s", "0.5 s", "1 s"]
level = [0, 1, 0.5]
[[cue]]
start = "0.8 s"
[[cue.layer]]
effect = "glint"
"""
#: A show of the effect in the folder ``mine``.
OWN = '[show]\nhouse = "house.toml"\nfps = 4\nlength = "1 s"\n[[cue]]\n[[cue.layer]]\neffect = "own"\n'
#: Kind of file -> how often it is mutated, and the commands that read it. "DIR" is the case's
#: folder. What starts processes or draws takes longest, and comes less often.
COMMANDS: dict[str, tuple[int, tuple[str, ...]]] = {
    "house.toml": (
        180,
        (
            "map DIR/house.toml",
            "power DIR/house.toml",
            "check DIR/show.toml",
            "check DIR/out/frames.json --house DIR/house.toml",
        ),
    ),
    "rich/house.toml": (60, ("map DIR/rich/house.toml", "check DIR/rich/show.toml")),
    "show.toml": (120, ("check DIR/show.toml", "check DIR/show.toml --json")),
    "rich/show.toml": (120, ("check DIR/rich/show.toml",)),
    "almanac.toml": (
        120,
        (
            "tonight DIR/almanac.toml --on 2026-12-05",
            "year DIR/almanac.toml --year 2026",
            "year DIR/almanac.toml --year 2026 --ics DIR/got.ics",
        ),
    ),
    "out/frames.json": (
        130,
        ("check DIR/out/frames.json", "stream DIR/out --dry-run --to 127.0.0.1"),
    ),
    "out/frames.rgb": (80, ("check DIR/out/frames.json",)),
    "picture.gif": (
        140,
        ("check DIR/show.toml", "palette new found --photo DIR/picture.gif"),
    ),
    "out/.lumenmap-files.json": (15, ("export DIR/show.toml -o DIR/out",)),
    "cache": (5, ("preview DIR/show.toml -o DIR/got.png --width 64",)),
    "mine/own.py": (
        4,
        (
            "check DIR/own.toml --effects DIR/mine",
            "effects own --effects DIR/mine",
            "effects --effects DIR/mine",
            "try own --effects DIR/mine -o DIR/got.gif --house DIR/house.toml --seconds 0.2 --width 64",
        ),
    ),
    "": (
        26,
        (
            "preview DIR/show.toml -o DIR/got.png --width 64 --height 40 --fps 5 --seconds 1 "
            "--view street --time dusk --at 0.5 --snow",
            "preview DIR/show.toml -o DIR/got.gif --width 64 --stand 1,-30,5 --look-at 1,0,9 "
            "--lens 35 --max-mb 1 --loop 2 --dither",
            "preview DIR/show.toml -o DIR/got.png --width 64 --sheet 4 --street-lamp",
            "try chase speed=4 way=across -p row-of-lamps -o DIR/got.gif --house DIR/house.toml "
            "--seconds 0.4 --width 64",
            "power DIR/house.toml --show DIR/show.toml --json",
            "power DIR/house.toml --suggest",
            "map DIR/house.toml --csv",
            "map DIR/house.toml -p DIR/got.svg",
            "sheets DIR/house.toml -o DIR/sheets --paper a4",
            "tonight DIR/almanac.toml --on 2026-12-05 --json",
            "year DIR/almanac.toml --year 2026 --ics DIR/got.ics",
            "export DIR/show.toml -o DIR/got --format flash --option loss=2",
            "make DIR/show.toml -o DIR/made --width 64",
            "stream DIR/show.toml --dry-run --to 127.0.0.1 --brightness 0.5 --port 5568 "
            "--priority 100 --name x --interface 127.0.0.1",
            "run DIR/almanac.toml --systemd --to 127.0.0.1 --name x --priority 100 --port 5568",
            "locate DIR/house.toml pixel -o DIR/got.raw --format raw -n 3 --line front "
            "--brightness 0.1",
            "palette show row-of-lamps -o DIR/got.png --kind ws2811-12v",
            "palette new found --base #c41e3a --harmony triad --keep-dim",
            "palette new found --photo DIR/picture.gif --count 5",
            "palette check row-of-lamps --kind ws2811-12v --json",
            "effects chase --unit m --json",
            "schema house",
            "help effects --unit m",
            *fuzz_media.OPTIONS,
        ),
    ),
} | fuzz_media.COMMANDS
_STRANGE = (
    *("nan", "inf", "-inf", "1e308", "-1e308", "0", "-1", "1e-308", "9" * 30, "9" * 5000, "true"),
    *('""', '"99999999 ft"', '"1e400 s"', '"\\u0000"', '"\\u202e abc"', '"../../etc/passwd"', "[]"),
    *("{}", "[[[]]]", "2026-02-30", "1979-05-27T07:32:00Z", '"' + "x" * 3000 + '"', '"12 ft 6"'),
    *('"a\\nb"', '"<script>"', '"*"', '"main/*"', '"FREQ=YEARLY;BYDAY=99MO"', '"%s%n"', "'''"),
)
#: For options; "\udcff" is how Python gives a byte that isn't UTF-8.
_STRANGE_WORDS = (
    *("nan", "inf", "-inf", "1e308", "-1e308", "0", "-1", "1e-308", "9" * 30, "9" * 5000, "", "="),
    *("99999999 ft", "\u202e abc", "x" * 3000, "a\nb", "*", "%s%n", "ü", "\udcff", "-", "--", "{}"),
    *("1,2,3", "nan,nan,nan", "2026-02-30", "x=1", "--json", "--no-such", "#c41e3a", "main/*"),
)
#: Words that stay, so that nothing is sent, and the value of those options too.
_FIXED = (
    "--dry-run",
    "--systemd",
    "--to",
    "127.0.0.1",
    "-o",
    "-p",
    "--ics",
    "--photo",
    "--show",
    "--film",
)


@dataclass(frozen=True)
class Case:
    """One mutated file, or none, and the words of the command that reads it."""

    number: int
    file: str
    data: bytes
    words: tuple[str, ...]


def pictures() -> list[bytes]:
    """Return a small picture in each format that is read."""
    from PIL import Image

    frames = [Image.linear_gradient("L").resize((24, 16)).rotate(90 * i) for i in range(3)]
    found = []
    for kind in ("GIF", "PNG", "JPEG", "WEBP"):
        out = io.BytesIO()
        more = {} if kind == "JPEG" else {"save_all": True, "append_images": frames[1:]}
        frames[0].convert("RGB").save(out, kind, **more)
        found.append(out.getvalue())
    return found


def prepare(folder: Path) -> dict[str, list[bytes]]:
    """Lay good files into a folder, with what is made of them; return what to mutate."""
    import lumenmap
    from lumenmap.pictures.options import PreviewOptions

    examples, starter = ROOT / "examples", ROOT / "lumenmap" / "starter" / "metres"
    house = (starter / "house.toml").read_bytes()
    found = {
        "house.toml": [
            HOUSE.encode(),
            *(p.read_bytes() for p in sorted(examples.glob("*/house.toml"))),
        ],
        "show.toml": [SHOW.encode()],
        "rich/house.toml": [house],
        "rich/show.toml": [RICH.encode(), (starter / "show.toml").read_bytes()],
        "almanac.toml": [p.read_bytes() for p in sorted(examples.glob("*/almanac.toml"))],
        "picture.gif": pictures(),
        "mine/own.py": [
            (examples / "effects" / "blinds.py").read_bytes().replace(b"blinds", b"own")
        ],
    }
    fuzz_media.lay(folder)
    found |= fuzz_media.media()
    for file, contents in found.items():
        (folder / file).parent.mkdir(exist_ok=True)
        (folder / file).write_bytes(contents[0])
    (folder / "own.toml").write_text(OWN, "utf-8")
    project = lumenmap.load(folder / "show.toml")
    lumenmap.export(project, folder / "out")
    with mock.patch.dict(os.environ, surroundings(folder)):
        lumenmap.preview(project, folder / "got.png", PreviewOptions(width=64, height=36))
    made = ["out/frames.json", "out/frames.rgb", "out/.lumenmap-files.json"]
    made += [p.relative_to(folder).as_posix() for p in folder.glob("cache/**/*") if p.is_file()]
    return found | {name: [(folder / name).read_bytes()] for name in made}


def surroundings(folder: Path) -> dict[str, str]:
    """Return the environment in which cases run: their caches are their own."""
    return {"XDG_CACHE_HOME": str(folder / "cache")}


def kind_of(file: str) -> str:
    """Return a file's key in `COMMANDS`."""
    return "cache" if file.startswith("cache/") else file


def case(number: int, seed: int, found: dict[str, list[bytes]]) -> Case:
    """Return case ``number``: a file, or the options, mutated, and a command that reads it."""
    rng = random.Random(f"{seed} {number}")
    files = sorted([*found, ""])
    weights = [COMMANDS[kind_of(f)][0] for f in files]
    file = rng.choices(files, weights)[0]
    words = rng.choice(COMMANDS[kind_of(file)][1]).split()
    if not file:
        return Case(number, "", b"", tuple(_options(words, rng)))
    data = rng.choice(found[file])
    text = file.endswith((".toml", ".json", ".py", ".txt"))
    whole = kind_of(file) == "cache" and rng.random() < 0.8
    data = data[32:] if whole else data
    for _ in range(rng.choice((1, 1, 1, 2, 3, 6))):
        data = _text(data, rng) if text and rng.random() < 0.8 else _bytes(data, rng)
    # A cache file begins with its checksum: with a true one, what comes after it is looked at.
    data = hashlib.sha256(data).digest() + data if whole else data
    return Case(number, file, data, tuple(words))


def _options(words: list[str], rng: random.Random) -> list[str]:
    for _ in range(rng.choice((1, 1, 2, 3))):
        loose = [
            i
            for i, word in enumerate(words)
            if i and word not in _FIXED and "DIR" not in word and words[i - 1] not in _FIXED
        ]
        values = [i for i in loose if not words[i].startswith("--")]
        kind = rng.randrange(5)
        if kind <= 2 and values:
            words[rng.choice(values)] = rng.choice(_STRANGE_WORDS)
        elif kind == 3:
            words.append(rng.choice(_STRANGE_WORDS))
        elif pairs := [i for i in loose if words[i].startswith("--") and i + 1 in loose]:
            at = rng.choice(pairs)
            if rng.random() < 0.5:
                del words[at : at + 2]
            else:
                words += words[at : at + 2]
    return words


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
