"""The nightly program with a clock of the test's own: a year, restarts, clock changes, lost shows."""

import random
from collections import Counter
from datetime import UTC, date, datetime, timedelta
from itertools import pairwise
from pathlib import Path
from uuid import UUID

import numpy as np
import pytest

from lumenmap.almanac.load import load_almanac
from lumenmap.almanac.year import year_pieces
from lumenmap.controller.frameset import FrameLine, FrameSet
from lumenmap.controller.packets import TERMINATED, Source
from lumenmap.controller.play import StreamPlayer
from lumenmap.controller.routes import Routes
from lumenmap.core.errors import InputError
from lumenmap.good_shows import GoodShows
from lumenmap.nightly import Almanacs, Nightly, due_frame

BOOK = """
[almanac]
place = { latitude = 40.71, longitude = -74.01, timezone = "America/New_York" }
country = "US"
dark = "07-01..07-03"
[quiet]
from = "01:00"
to = "05:00"
[[rule]]
name = "all year"
show = "plain.toml"
on = "every day"
from = "sunset"
to = "22:30"
[[rule]]
name = "weekend"
show = "party.toml"
on = ["friday", "saturday"]
from = "20:00"
to = "00:30"
priority = 2
[[rule]]
name = "winter"
show = "frost.toml"
on = "12-01..01-06"
from = "dusk"
to = "23:00"
priority = 1
[[dim]]
from = "22:00"
to = "23:30"
brightness = 0.5
[[once]]
date = "2026-12-31"
show = "party.toml"
to = "02:00"
in_quiet_hours = true
"""


class World:
    """Wall clock and pacing clock, both fake; the wall can be set, both can be stopped."""

    def __init__(self, start):
        self.wall_time, self.time = start, 5000.0
        self.sleeps = 0

    def wall(self):
        return self.wall_time

    def now(self):
        return self.time

    def sleep(self, seconds):
        assert seconds >= 0
        self.sleeps += 1
        self.time += seconds
        # A microsecond is all that a datetime holds.
        self.wall_time += timedelta(seconds=max(seconds, 1e-6))


class Recorder:
    """A player that notes what it is given and lets the time pass."""

    def __init__(self, world):
        self.world, self.played = world, []

    def play(self, frames, brightness, begun, seconds, stop, *, close):
        start = self.world.wall()
        end = self.world.now() + seconds
        while self.world.now() < end and not stop():
            self.world.sleep(min(900.0, end - self.world.now()))
        self.played.append((start, self.world.wall(), frames, brightness, begun, close()))


def frames_of(name, count=47):
    rng = np.random.default_rng(len(name))
    codes = rng.integers(1, 256, (count, 20, 3), dtype=np.uint8)
    return FrameSet(codes, 30.0, (FrameLine("front", 0, 20, 1, "RGB"),), sha256=name)


class Shelf:
    """Shows by file name, all good unless told otherwise."""

    def __init__(self):
        self.problems = {}
        self.kept = {}

    def get(self, show):
        return self.kept.setdefault(show.name, frames_of(show.name))


@pytest.fixture
def book(tmp_path):
    file = tmp_path / "almanac.toml"
    file.write_text(BOOK)
    return load_almanac(file)


def test_a_year_has_the_right_show_every_evening_without_gap_or_double(book):
    start, end = datetime(2026, 1, 1, 12, tzinfo=UTC), datetime(2027, 1, 1, 12, tzinfo=UTC)
    world = World(start)
    player, states = Recorder(world), []
    Nightly(lambda: book, Shelf(), player, wall=world.wall, clock=world,
            status=states.append).run(lambda: world.wall() >= end)  # fmt: skip
    wanted = [p for p in year_pieces(book, 2026) if p.stop > start]
    got = [p for p in player.played if (p[1] - p[0]).total_seconds() > 0.001]
    assert len(got) == len(wanted) > 500
    small = timedelta(milliseconds=2)
    for (a, z, frames, brightness, _, close), piece in zip(got, wanted, strict=True):
        assert abs(a - piece.start) < small and abs(z - piece.stop) < small
        assert frames.sha256 == piece.show.name and brightness == piece.brightness
        assert close == (book.at(piece.stop) is None)
    for before, after in pairwise(got):
        assert after[0] >= before[1] - small
    shown = Counter(date for date in {(p.begun.date(), p.rule) for p in wanted})
    assert len(shown) > 362, "an evening for every day but the dark ones"
    assert states[-1]["state"] == "stopped"
    assert {s["state"] for s in states} == {"waiting", "playing", "stopped"}
    assert not any(s["problems"] for s in states)


class Wire:
    """A sender that keeps packets with the wall's time."""

    def __init__(self, world):
        self.world, self.sent, self.lost = world, [], Counter()

    def send(self, packet, address):
        self.sent.append((self.world.wall(), bytes(packet)))
        return True


def run_for(book, world, shelf, seconds):
    wire = Wire(world)
    player = StreamPlayer(Source(UUID(int=5), "test"), lambda u: Routes(((("127.0.0.1", 9),),) * len(u)),
                          wire, world, steady=True)  # fmt: skip
    end = world.wall() + timedelta(seconds=seconds)
    Nightly(lambda: book, shelf, player, wall=world.wall, clock=world).run(
        lambda: world.wall() >= end
    )
    return [(t, p) for t, p in wire.sent if not p[112] & TERMINATED and any(p[126:])]


def test_killed_and_restarted_at_a_thousand_moments_it_finds_the_frame(book):
    pieces = year_pieces(book, 2026)
    shelf, chance, hair = Shelf(), random.Random(3), timedelta(microseconds=50)
    for _ in range(1000):
        piece = chance.choice(pieces)
        length = (piece.stop - piece.start).total_seconds()
        moment = piece.start + timedelta(seconds=chance.uniform(0, max(0.0, length - 3)))
        world = World(moment)
        world.time = chance.uniform(0, 1e6)
        sent = run_for(book, world, shelf, 0.2)
        assert sent and sent[0][0] - moment < timedelta(seconds=1)
        frames = shelf.get(piece.show)
        for t, packet in sent:
            level = np.floor(np.arange(256) * piece.brightness).astype(np.uint8)
            due = {due_frame(piece, t + i * hair, frames) for i in (-1, 1)}
            assert packet[126:] in [level[frames.flat()[i]].tobytes() for i in due]


def test_clock_that_is_set_is_followed_at_once(book):
    """Forward two hours in the middle of a show: over. Back again: the same frame as before."""
    piece = book.evening(date(2026, 5, 6))[0][0]
    world = World(piece.start + timedelta(seconds=100))
    shelf, player = Shelf(), Recorder(world)
    steps = iter([timedelta(hours=6), timedelta(hours=-6)])
    looks = Counter()

    def stop():
        looks["n"] += 1
        if looks["n"] in (6, 12):
            world.wall_time += next(steps)
        return looks["n"] > 30

    Nightly(lambda: book, shelf, player, wall=world.wall, clock=world).run(stop)
    assert len(player.played) >= 2
    first, second = player.played[0], player.played[1]
    assert first[1] - first[0] > timedelta(hours=5), "by a wall clock that was set"
    assert second[4] == pytest.approx(world.time - (world.wall() - piece.begun).total_seconds(),
                                      abs=1e-3)  # fmt: skip


class Kitchen:
    """Renders shows whose file's text says how they turn out."""

    def __init__(self, folder):
        self.good = GoodShows(folder, self.render, self.check)
        self.rendered, self.most = [], 200  # codes above `most` break the house's budget

    def render(self, show, folder):
        text = show.read_text()
        self.rendered.append(text)
        if text.startswith("broken"):
            raise InputError("is not TOML", file=show)
        if text.startswith("crash"):
            raise ZeroDivisionError("an effect's own mistake")
        codes = np.full((3, 2, 3), int(text.split()[1]), np.uint8)
        (folder / "frames.rgb").write_bytes(codes.tobytes())
        import hashlib
        import json

        digest = hashlib.sha256(codes.tobytes()).hexdigest()
        line = {"name": "a", "first": 0, "count": 2, "universe": 1, "order": "RGB"}
        side = {"format": "lumenmap-frames", "version": 1, "frames": 3, "fps": 30.0, "pixels": 2,
                "channels": 3, "lines": [line], "sha256": digest}  # fmt: skip
        (folder / "frames.json").write_text(json.dumps(side))

    def check(self, sidecar):
        codes = (sidecar.parent / "frames.rgb").read_bytes()
        return ["supply garage: 20.00 A of 12 A in frame 0"] if max(codes) > self.most else []


@pytest.fixture
def kitchen(tmp_path):
    (tmp_path / "shows").mkdir()
    return Kitchen(tmp_path / "kept")


def value(frames):
    return None if frames is None else int(frames.codes[0, 0, 0])


def put(tmp_path, text, name="a.toml"):
    show: Path = tmp_path / "shows" / name
    show.write_text(text)
    return show


def test_show_that_breaks_its_budget_is_refused_and_said(kitchen, tmp_path):
    show = put(tmp_path, "level 250")
    assert kitchen.good.get(show) is None
    assert kitchen.good.problems["a.toml"] == (
        "a.toml: refused, it breaks its budget: supply garage: 20.00 A of 12 A in frame 0; "
        "nothing good to play instead"
    )


@pytest.mark.parametrize("bad", ["level 255 now", "broken", "crash", None])
def test_previous_good_version_plays_when_a_show_goes_bad(kitchen, tmp_path, bad):
    show = put(tmp_path, "level 100")
    assert value(kitchen.good.get(show)) == 100
    show.unlink() if bad is None else show.write_text(bad)
    assert value(kitchen.good.get(show)) == 100
    assert "playing its previous good version" in kitchen.good.problems["a.toml"]
    again = Kitchen(tmp_path / "kept")  # and after a restart
    assert value(again.good.get(show)) == 100
    assert "playing its previous good version" in again.good.problems["a.toml"]
    put(tmp_path, "level 120 repaired")
    assert value(again.good.get(show)) == 120 and not again.good.problems


def test_another_good_show_plays_where_there_never_was_one(kitchen, tmp_path):
    assert value(kitchen.good.get(put(tmp_path, "level 90"))) == 90
    missing = tmp_path / "shows" / "gone.toml"
    assert value(Kitchen(tmp_path / "kept").good.get(missing)) == 90


def test_show_is_rendered_once_and_again_when_it_changes(kitchen, tmp_path):
    show = put(tmp_path, "level 10")
    for _ in range(3):
        kitchen.good.get(show)
    assert kitchen.rendered == ["level 10"]
    Kitchen(tmp_path / "kept").good.get(show)
    assert kitchen.rendered == ["level 10"], "kept across restarts"
    put(tmp_path, "level 11 x")
    assert value(kitchen.good.get(show)) == 11
    assert len(list((tmp_path / "kept").glob("*/*/frames.rgb"))) == 1, "old versions are cleared"


@pytest.mark.parametrize("restarted", [False, True])
def test_kept_show_is_counted_by_the_house_as_it_is_now(kitchen, tmp_path, restarted):
    """The house file now allows less, and the show can't be rendered: its old frames break it."""
    put(tmp_path, "level 80", "b.toml")
    kitchen.good.get(tmp_path / "shows" / "b.toml")
    show = put(tmp_path, "level 100")
    assert value(kitchen.good.get(show)) == 100
    now = Kitchen(tmp_path / "kept") if restarted else kitchen
    now.most = 90
    put(tmp_path, "amps = 5", "house.toml")
    put(tmp_path, "broken")
    assert value(now.good.get(show)) == 80, "another show's frames, that keep inside"
    assert now.good.problems["a.toml"].endswith("playing another good show")
    now.most = 70
    put(tmp_path, "amps = 4 now", "house.toml")
    assert now.good.get(show) is None
    assert now.good.problems["a.toml"].endswith("nothing good to play instead")


def test_kept_show_of_a_house_file_that_cannot_be_read_plays_on(kitchen, tmp_path):
    show = put(tmp_path, "level 100")
    kitchen.good.get(show)

    def check(sidecar, wrong=tmp_path / "house.toml"):
        raise InputError("is not TOML", file=wrong)

    put(tmp_path, "broken")
    again = GoodShows(tmp_path / "kept", kitchen.render, check)
    assert value(again.get(show)) == 100

    def misfit(sidecar):
        raise InputError("has 2 pixels, the house 3", file=sidecar)

    assert GoodShows(tmp_path / "kept", kitchen.render, misfit).get(show) is None


def test_half_made_show_is_never_taken(kitchen, tmp_path):
    show = put(tmp_path, "level 10")
    kitchen.good.get(show)
    (good,) = (tmp_path / "kept").glob("*/*/good")
    good.unlink()
    again = Kitchen(tmp_path / "kept")
    assert value(again.good.get(show)) == 10 and again.rendered == ["level 10"]


def test_almanac_that_goes_wrong_leaves_the_last_good_one(tmp_path):
    file = tmp_path / "almanac.toml"
    file.write_text(BOOK)
    said = []
    read = Almanacs(file, said.append)
    assert len(read().rules) == 4
    file.write_text(BOOK + "nonsense = ")
    assert len(read().rules) == 4 and len(read().rules) == 4
    assert len(said) == 1 and said[0].endswith("going on with the almanac as it was")
    file.write_text(BOOK + '[[once]]\ndate = "2026-10-31"\nshow = "bats.toml"\n')
    assert len(read().rules) == 5
