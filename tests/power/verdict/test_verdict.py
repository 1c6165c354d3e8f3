"""Dangerous houses are refused by every command that lights them; near misses pass.

The houses are invented. Ampacities: 18 AWG 6 A, 16 AWG 8 A [P, P2: NEC23 402.5]; blade ratings of
ISO 8820-3 [M].
"""

import json
import socket

import pytest

from lumenmap.house.reading.load import load_house
from lumenmap.jobs.evening.good_shows import GoodShows
from lumenmap.jobs.project import load
from lumenmap.jobs.sending import keep_frames, kept_problems
from lumenmap.power.verdict.finding import DangerError
from lumenmap.site import Site

TOP = """
[house]
name = "Byre"
unit = "m"
place = { latitude = 52, longitude = 5, timezone = "Europe/Amsterdam" }
[rail]
hole_spacing = "25 mm"
[pixel]
kind = "ws2811-12v"
[[edge]]
name = "wall"
points = [[0, 0, 3], [1, 0, 3]]
[[edge]]
name = "gate"
points = [[0, 1, 2], [0.5, 1, 2]]
[[line]]
name = "all"
path = ["wall"]
CUTS
[[line]]
name = "gate"
path = ["gate"]
"""
SUPPLY = '[[supply]]\nname = "barn"\nvolts = 12\namps = 5\n'
SECOND = '[[supply]]\nname = "loft"\nvolts = 12\namps = 5\n'
GATE = '[[feed]]\nname = "side"\nsupply = "barn"\nto = "gate"\nlength = 1\nfuse = 3\n'


def feed(extra="fuse = 5", *, supply="barn", at="start", name="main"):
    return (
        f'[[feed]]\nname = "{name}"\nsupply = "{supply}"\nto = "all"\nat = "{at}"\n'
        f"length = 2\n{extra}\n"
    )


def house(*parts, cuts="", wiring=""):
    text = TOP.replace("CUTS", cuts) + "[wiring]\nambient = 30\nconductors = 2\n" + wiring
    return "\n".join([text, *parts])


def accept(finding, of):
    return (
        f'accept = [{{ finding = "{finding}", of = "{of}", '
        'reason = "Seen and signed by our electrician" }]\n'
    )


THICK, THUMB = 'string = "14 AWG"\n', 'ampacity = "700-circular-mils"\n'
BUS = '[[bus]]\nname = "rod"\nalong = "all"\n'
TRUNK = '[[trunk]]\nname = "spine"\nsupply = "barn"\nalong = "all"\nwire = "14 AWG"\n'
TAP = '[[tap]]\nname = "drop"\ntrunk = "spine"\nat = "middle"\nwire = "18 AWG"\n'
TWO = feed(supply="loft", at="end", name="far")
HALF = 'cuts = ["0.5 m"]'
DANGEROUS = {
    "fuse over the string": (
        house(SUPPLY, feed("fuse = 7.5"), GATE),
        "Feed \"main\": a fuse of 7.5 A doesn't protect the string's own wire, 18 AWG stranded, which may "
        "carry 6 A. Fit a fuse of 5 A at most, or use thicker wire.",
    ),
    "fuse over hot wire": (
        house(SUPPLY, feed(), GATE).replace("ambient = 30", "ambient = 50"),
        "a fuse of 5 A doesn't protect the string's own wire, 18 AWG stranded, which may carry "
        "4.47 A. Fit a fuse of 4 A at most",
    ),
    "fuse over a tap": (
        house(SUPPLY, GATE, TRUNK + "fuse = 10\n", TAP, wiring=THICK),
        'Trunk "spine": a fuse of 10 A doesn\'t protect tap "drop", 18 AWG, which may carry 6 A.',
    ),
    "a trunk without a fuse": (
        house(SUPPLY, GATE, TRUNK, TAP),
        'Trunk "spine": no fuse, and ',
    ),
    "a tap's fuse over its wire": (
        house(SUPPLY, GATE, TRUNK + "fuse = 15\n", TAP + "fuse = 7.5\n"),
        "Tap \"drop\": a fuse of 7.5 A doesn't protect the tap's wire, 18 AWG, which may carry 6 A.",
    ),
    "fuse over the feed": (
        house(SUPPLY, feed('fuse = 10\nwire = "16 AWG"'), GATE, wiring=THICK),
        "Feed \"main\": a fuse of 10 A doesn't protect the feed's wire, 16 AWG, which may carry "
        "8 A. Fit a fuse of 7.5 A at most",
    ),
    "fuse over the bus": (
        house(SUPPLY, feed(), GATE, BUS + 'wire = "20 AWG"\n', wiring=THICK),
        'a fuse of 5 A doesn\'t protect bus "rod", 20 AWG, which may carry 3 A. Fit a fuse of 3 A',
    ),
    "fuse over the thumb rule": (
        house(SUPPLY, feed("fuse = 3"), GATE, wiring=THUMB),
        "a fuse of 3 A doesn't protect the string's own wire, 18 AWG stranded, which may carry 2.3 A. "
        "Fit a fuse of 2 A at most",
    ),
    "no fuse": (
        house(SUPPLY, feed(""), GATE),
        'Feed "main": no fuse, and the string\'s own wire behind it, 18 AWG stranded, may carry 6 A. '
        "At its supply end, fit a fuse of 5 A at most",
    ),
    "no feed": (
        house(SUPPLY, feed()),
        'Line "gate": no feed, so the fuse and the wire that the current comes through are '
        "unknown. Write a [[feed]] with its wire, length and fuse.",
    ),
    "no feed, two supplies": (house(SUPPLY, SECOND, GATE), 'Line "all": no feed, so'),
    "no feed beyond a cut": (
        house(SUPPLY, feed(), GATE, cuts=HALF),
        'Line "all" (pixels 21 to 40): no feed on that side of a cut.',
    ),
    "two supplies, no cut": (
        house(SUPPLY, SECOND, feed(), TWO, GATE),
        'Line "all" connects the plus of supplies "barn" and "loft": no cut between "main" '
        'and "far" is asked for. Write cuts = ["after pixel 20"] in the line, and cut the '
        "plus wire there, between pixels 20 and 21; leave minus and data whole.",
    ),
    "two supplies, a bus across the cut": (
        house(SUPPLY, SECOND, feed(), TWO, GATE, BUS, cuts=HALF),
        'Bus "rod" connects the plus of supplies "barn" and "loft"',
    ),
    "volts too high": (
        house(SUPPLY.replace("12", "24"), feed(), GATE),
        'Supply "barn": ws2811-12v pixels take 12 V, not 24 V. Use a supply or pixels that match',
    ),
    "volts too low": (
        house(SUPPLY.replace("12", "5"), feed(), GATE),
        'Supply "barn": ws2811-12v pixels take 12 V, not 5 V.',
    ),
    "no supply": (house(), "The house has no [[supply]], so the current that a show may draw"),
}
SAFE = {
    "a trunk, and a tap with its own fuse": house(
        SUPPLY, GATE, TRUNK + "fuse = 15\n", TAP + "fuse = 5\n"
    ),
    "a trunk with a fuse for its tap": house(SUPPLY, GATE, TRUNK + "fuse = 5\n", TAP),
    "fuse as large as it may be": house(SUPPLY, feed("fuse = 6"), GATE),
    "a larger fuse on thicker wire": house(
        SUPPLY, feed("fuse = 7.5"), GATE, wiring='string = "16 AWG"\n'
    ),
    "a bus of wire as thick as the fuse asks": house(
        SUPPLY, feed("fuse = 3"), GATE, BUS + 'wire = "20 AWG"\n', wiring=THICK
    ),
    "the thumb rule, kept": house(SUPPLY, feed("fuse = 2"), GATE.replace("3", "2"), wiring=THUMB),
    "too large, accepted": house(
        SUPPLY, feed("fuse = 7.5"), GATE, wiring=accept("fuse-too-large", "main")
    ),
    "no fuse, accepted": house(SUPPLY, feed(""), GATE, wiring=accept("no-fuse", "main")),
    "no feed, accepted": house(SUPPLY, feed(), wiring=accept("no-feed", "gate")),
    "a feed on each side of a cut": house(
        SUPPLY, feed(), feed(at="end", name="far"), GATE, cuts=HALF
    ),
    "one supply, two feeds, no cut": house(SUPPLY, feed(), feed(at="end", name="far"), GATE),
    "two supplies and a cut": house(SUPPLY, SECOND, feed(), TWO, GATE, cuts=HALF),
    "two supplies, a bus to the cut": house(
        SUPPLY, SECOND, feed(), TWO, GATE, BUS + 'stop = "0.49 m"\n', cuts=HALF
    ),
    "volts a fifth too high": house(SUPPLY.replace("12", "14.4"), feed(), GATE),
    "volts of pixels measured": house(SUPPLY.replace("12", "24"), feed(), GATE).replace(
        '"ws2811-12v"', '"ws2811-12v"\nvolts = 24'
    ),
}
SHOW = """
[show]
name = "Dusk"
house = "house.toml"
fps = 10
length = 0.2
[palette.warm]
stops = ["white"]
[[cue]]
[[cue.layer]]
palette = "warm"
effect = "still"
"""
ALMANAC = """
[almanac]
house = "house.toml"
[[rule]]
name = "All year"
on = "01-01..12-31"
show = "show.toml"
from = "12:00"
to = "12:01"
"""


@pytest.fixture
def folder(tmp_path):
    (tmp_path / "show.toml").write_text(SHOW)
    (tmp_path / "almanac.toml").write_text(ALMANAC)
    return tmp_path


def commands(folder, port):
    """The five commands that light a house."""
    show, here = folder / "show.toml", ["--to", "127.0.0.1", "--port", port]
    return {
        "check": ["check", show],
        "make": ["make", show, "-o", folder / "made", "--width", 64],
        "export": ["export", show, "-o", folder / "out"],
        "stream": ["stream", show, *here],
        "run": ["run", folder / "almanac.toml", *here],
    }


@pytest.mark.parametrize("name", DANGEROUS)
def test_every_command_refuses_a_dangerous_house(folder, lumenmap, name):
    text, sentence = DANGEROUS[name]
    (folder / "house.toml").write_text(text)
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as controller:
        controller.bind(("127.0.0.1", 0))
        controller.setblocking(False)
        before = {p.name for p in folder.iterdir()}
        for words in commands(folder, controller.getsockname()[1]).values():
            with pytest.raises(DangerError) as caught:
                lumenmap(*words, "--debug")
            assert caught.value.exit_code == 1
            assert str(caught.value).startswith("house.toml: DANGER: ")
            assert sentence in str(caught.value), words
        # `run` keeps what it knows of its evenings in a folder of its own.
        assert {p.name for p in folder.iterdir()} <= before | {".lumenmap"}
        with pytest.raises(BlockingIOError):
            controller.recv(1)


def test_the_command_line_says_it_and_ends_with_1(folder, lumenmap):
    (folder / "house.toml").write_text(DANGEROUS["no feed, two supplies"][0])
    got = lumenmap("check", folder / "show.toml")
    assert (got.code, got.out) == (1, "")
    assert [line.partition(": no feed")[0] for line in got.err.splitlines()] == [
        'house.toml: DANGER: Line "all"',
    ]


@pytest.mark.parametrize("name", SAFE)
def test_near_misses_pass(folder, lumenmap, name, monkeypatch):
    (folder / "house.toml").write_text(SAFE[name])
    assert not Site.read(folder / "house.toml").verdict.dangers
    monkeypatch.setattr("lumenmap.jobs.evening.nightly.Nightly.run", lambda self, stop: None)
    # Drawing the house takes longer than everything else, and isn't what is asked.
    monkeypatch.setattr(
        "lumenmap.pictures.clip.write_clip", lambda path, *_, **__: path.write_bytes(b"")
    )
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as controller:
        controller.bind(("127.0.0.1", 0))
        for words in commands(folder, controller.getsockname()[1]).values():
            assert lumenmap(*words).code == 0, words


def test_what_is_accepted_is_repeated_everywhere(folder, lumenmap):
    (folder / "house.toml").write_text(SAFE["too large, accepted"])
    sentence = (
        "Feed \"main\": a fuse of 7.5 A doesn't protect the string's own wire, 18 AWG stranded, which may "
        "carry 6 A. Accepted in the house file, because: Seen and signed by our electrician"
    )
    assert sentence in lumenmap("check", folder / "show.toml").out
    assert sentence in lumenmap("power", folder / "house.toml").out
    lumenmap("make", folder / "show.toml", "-o", folder / "out", "--width", 64)
    (account,) = (folder / "out").glob("*.txt")
    assert sentence in " ".join(account.read_text().split())
    assert "Seen and signed" in (folder / "out" / "report.json").read_text()
    assert sentence in " ".join(lumenmap("check", folder / "out" / "frames.json").out.split())
    assert lumenmap("sheets", folder / "house.toml", "-o", folder / "sheets").code == 0
    assert "Seen and signed" in (folder / "sheets" / "sheets.html").read_text()


def test_an_acceptance_of_nothing_is_told(folder, lumenmap):
    (folder / "house.toml").write_text(
        house(SUPPLY, feed(), GATE, wiring=accept("no-fuse", "main"))
    )
    assert (
        '[wiring] accepts "no-fuse" of "main", which isn\'t found. Delete it'
        in lumenmap("check", folder / "show.toml").out
    )


def test_a_house_without_a_supply_maps_and_previews(folder, lumenmap):
    (folder / "house.toml").write_text(house())
    assert "60 pixels" in lumenmap("map", folder / "house.toml").out
    for file in ("p.gif", "p.html"):
        got = lumenmap("preview", folder / "show.toml", "-o", folder / file, "--width", 64)
        assert got.code == 0 and (folder / file).exists()


def test_frames_are_refused_once_their_house_is_dangerous(folder, lumenmap):
    file = folder / "house.toml"
    file.write_text(house(SUPPLY, feed(), GATE))
    lumenmap("export", folder / "show.toml", "-o", folder / "out")
    file.write_text(file.read_text().replace("fuse = 5", "fuse = 20"))
    for words in (["check", folder / "out" / "frames.json"], ["stream", folder / "out"]):
        words += ["--to", "127.0.0.1", "--port", 9] if words[0] == "stream" else []
        got = lumenmap(*words)
        assert got.code == 1 and "a fuse of 20 A" in got.err


def test_dangers_of_every_line_and_feed_are_told(folder):
    file = folder / "house.toml"
    file.write_text(house(SUPPLY, feed("fuse = 20"), GATE.replace("fuse = 3", "")))
    found = Site(load_house(file)).verdict
    assert [(d.code, *d.names) for d in found.dangers] == [
        ("fuse-too-large", "main"),
        ("no-fuse", "side"),
    ]


def test_equal_dangers_are_one_that_names_all(folder, lumenmap):
    both = feed("fuse = 20"), feed("fuse = 20", at="end", name="far"), GATE.replace("3", "20")
    file = folder / "house.toml"
    file.write_text(house(SUPPLY, *both))
    (danger,) = Site.read(file).verdict.dangers
    assert str(danger).startswith(
        'Feeds "main", "far" and "side": a fuse of 20 A doesn\'t protect the string\'s own wire'
    )
    got = lumenmap("power", folder, "--json")
    (found,) = [f for f in json.loads(got.out)["findings"] if f["severity"] == "danger"]
    assert found["of"] == ["main", "far", "side"]
    assert lumenmap("sheets", folder, "-o", folder / "s").out.count("doesn't protect") == 1
    assert "F1, F2 and F3: Feeds" in (folder / "s" / "sheets.html").read_text()


def test_each_of_equal_dangers_is_accepted_by_itself(folder):
    both = feed("fuse = 20"), feed("fuse = 20", at="end", name="far"), GATE
    file = folder / "house.toml"
    file.write_text(house(SUPPLY, *both, wiring=accept("fuse-too-large", "far")))
    found = Site.read(file).verdict
    assert [d.names for d in found.dangers] == [("main",)]
    assert [a.finding.names for a in found.accepted] == [("far",)]


def test_an_edit_into_danger_is_refused_and_the_last_good_plays_on(folder):
    file = folder / "house.toml"
    file.write_text(house(SUPPLY, feed(), GATE))
    shows = GoodShows(
        folder / "kept", lambda show, made, *_: keep_frames(load(show), made), kept_problems
    )
    assert shows.get(folder / "show.toml") is not None and not shows.problems
    file.write_text(house(SUPPLY, feed("fuse = 20"), GATE))
    assert shows.get(folder / "show.toml") is not None
    assert "DANGER" in shows.problems["show.toml"]
    assert "a fuse of 20 A doesn't protect" in shows.problems["show.toml"]
    # After a restart as well.
    again = GoodShows(
        folder / "kept", lambda show, made, *_: keep_frames(load(show), made), kept_problems
    )
    assert again.has_good(folder / "show.toml") and again.get(folder / "show.toml") is not None


@pytest.mark.parametrize(
    "name", ["no supply", "two supplies, no cut", "no feed, two supplies", "volts too high"]
)
def test_power_and_sheets_say_it_too(folder, lumenmap, name):
    text, sentence = DANGEROUS[name]
    (folder / "house.toml").write_text(text)
    got = lumenmap("power", folder)
    assert sentence in got.out + got.err and got.code == (name.startswith("no "))
    made = lumenmap("sheets", folder, "-o", folder / "s").out
    assert f"DANGER: {sentence}" in made
    assert "POWER: " not in made or name.startswith(
        "no "
    )  # a danger isn't counted as a warning too
    assert "Danger:" in (folder / "s" / "sheets.html").read_text()
