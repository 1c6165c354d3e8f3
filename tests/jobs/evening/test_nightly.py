"""The nightly program with a clock of the test's own: a year, restarts, clock changes."""

import random
from collections import Counter
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from itertools import pairwise
from uuid import UUID

import numpy as np
import pytest

from lumenmap.almanac.load import load_almanac
from lumenmap.almanac.year import year_pieces
from lumenmap.controller.e131.options import StreamOptions
from lumenmap.controller.e131.packets import TERMINATED, Source
from lumenmap.controller.e131.play import StreamPlayer
from lumenmap.jobs.evening.almanacs import Almanacs
from lumenmap.jobs.evening.keeper import Keeper
from lumenmap.jobs.evening.nightly import Clocks, Nightly, due_frame
from lumenmap.jobs.evening.ready import Ready
from tests.jobs.evening.night_world import (
    BOOK,
    Recorder,
    Shelf,
    Wire,
    World,
    frames_of,
    home,
    kept_up,
    nightly,
    run_for,
)


def test_a_year_has_the_right_show_every_evening_without_gap_or_double(book):
    start, end = datetime(2026, 1, 1, 12, tzinfo=UTC), datetime(2027, 1, 1, 12, tzinfo=UTC)
    world = World(start)
    player, states = Recorder(world), []
    nightly(book, Shelf(), player, world, report=states.append).run(lambda: world.wall() >= end)
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
    assert states[-1].state == "stopped"
    assert {s.state for s in states} == {"waiting", "playing", "stopped"}


def test_a_single_change_of_what_is_ready_is_taken_up_at_once(book):
    """Told once to whoever asks; in the middle of a block of frames, and without a dark one."""
    piece = book.evening(date(2026, 5, 6))[0][0]
    world = World(piece.start + timedelta(seconds=60))
    wire, key = Wire(world), (piece.show, piece.brightness, piece.values)
    ready = [Ready(book, {key: frames_of("old")}), Ready(book, {key: frames_of("brand new")})]
    player = StreamPlayer(
        Source(UUID(int=5), "test"), home, wire, world, StreamOptions(steady=True)
    )
    Nightly(lambda: ready[world.time >= 5001.01], player, Clocks(world.wall, world)).run(
        lambda: world.time >= 5002
    )
    new = ready[1].shows[key].flat()
    after = [p for t, (_, p) in zip(wire.times, wire.sent, strict=True) if 5001.1 < t < 5002]
    assert len(after) > 20 and {p[126:] for p in after} <= {frame.tobytes() for frame in new}
    assert all(any(p[126:]) for t, (_, p) in zip(wire.times, wire.sent, strict=True) if t < 5002)


def test_killed_and_restarted_at_hundreds_of_moments_it_finds_the_frame(book):
    pieces = year_pieces(book, 2026)
    shelf, chance, hair = Shelf(), random.Random(3), timedelta(microseconds=50)
    for _ in range(400):
        piece = chance.choice(pieces)
        length = (piece.stop - piece.start).total_seconds()
        moment = piece.start + timedelta(seconds=chance.uniform(0, max(0.0, length - 3)))
        world = World(moment)
        world.time = chance.uniform(0, 1e6)
        sent = run_for(book, world, shelf, 0.2)
        assert sent and sent[0][0] - moment < timedelta(seconds=1)
        frames = shelf.get(piece.show)
        for t, packet in sent:
            due = {due_frame(piece, t + i * hair, frames) for i in (-1, 1)}
            got, light = np.frombuffer(packet[126:], np.uint8), frames.flat() * piece.brightness
            assert any((np.abs(got - light[i]) < 1).all() for i in due)


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

    nightly(book, shelf, player, world).run(stop)
    assert len(player.played) >= 2
    first, second = player.played[0], player.played[1]
    assert first[1] - first[0] > timedelta(hours=5), "by a wall clock that was set"
    assert second[4] == pytest.approx(
        world.time - (world.wall() - piece.begun).total_seconds(), abs=1e-3
    )


def some_shows(folder):
    """Make the files that an almanac here names, which would be missed."""
    for name in ("plain", "party", "frost", "tea"):
        (folder / f"{name}.toml").write_text("[show]\n")


def test_almanac_that_goes_wrong_leaves_the_last_good_one(tmp_path):
    file = tmp_path / "almanac.toml"
    some_shows(tmp_path)
    file.write_text(BOOK)
    said = []
    read = Almanacs(file, None, said.append)
    assert len(read().rules) == 4
    file.write_text(BOOK + "nonsense = ")
    assert len(read().rules) == 4 and len(read().rules) == 4
    assert len(said) == 1 and said[0].endswith("^\nthe previous almanac stays in use"), "below"
    file.write_text(BOOK + '[[once]]\ndate = "2026-10-31"\nshow = "bats.toml"\n')
    assert len(read().rules) == 5


def test_almanac_edited_while_it_waits_counts_at_once(tmp_path):
    """At noon a rule is added for two o'clock; the evening's would only have begun at sunset."""
    file = tmp_path / "almanac.toml"
    some_shows(tmp_path)
    file.write_text(BOOK)
    world = World(datetime(2026, 5, 6, 16, tzinfo=UTC))  # 12:00 in New York
    player, said = Recorder(world), []

    def stop():
        if world.wall().hour == 17 and "tea" not in file.read_text():
            file.write_text(
                BOOK + '[[rule]]\nname = "tea"\nshow = "tea.toml"\non = "every day"\n'
                'from = "14:00"\nto = "15:00"\n'
            )
        return world.wall() >= datetime(2026, 5, 6, 20, tzinfo=UTC)

    kept_up(file, Shelf(), player, world, said).run(stop)
    ((start, end, frames, *_),) = player.played
    assert (start.hour, end.hour, frames.sha256) == (18, 19, "tea.toml") and not said


def test_show_edited_in_the_afternoon_is_ready_by_the_evening(tmp_path):
    """Made ready when waiting begins and within a minute of its change, not at sunset."""
    file = tmp_path / "almanac.toml"
    file.write_text(BOOK)
    world = World(datetime(2026, 5, 6, 16, tzinfo=UTC))  # 12:00 in New York
    edited = datetime(2026, 5, 6, 18, tzinfo=UTC)

    class Watched(Shelf):
        made = []

        def changed(self, show, brightness=1.0, values=()):
            return super().changed(show) or len(self.made) < 3 + (world.wall() >= edited)

        def get(self, show, brightness=1.0, values=()):
            self.made.append(world.wall())
            self.problems = {show.name: f"problem {len(self.made)}"}
            return super().get(show)

    shelf, player, states, said = Watched(), Recorder(world), [], []
    kept_up(file, shelf, player, world, said, report=states.append).run(
        lambda: world.wall() >= datetime(2026, 5, 7, 1, tzinfo=UTC)
    )
    waiting = [s.ready.problems for s in states if s.state == "waiting"]
    assert ("problem 3",) in waiting and ("problem 4",) in waiting, "the status has them too"
    assert shelf.made[0] == datetime(2026, 5, 6, 16, tzinfo=UTC)
    assert edited <= shelf.made[3] <= edited + timedelta(minutes=1)
    assert "problem 4" in said and len(player.played) == 1


def test_frames_that_are_as_dim_as_they_are_to_be_are_sent_as_they_are(book):
    """Dimming them as they are sent, too, would dim them twice."""

    class Dimmed(Shelf):
        def get(self, show, brightness=1.0, values=()):
            return replace(frames_of(show.name), meta={"brightness": brightness})

    piece = next(p for p in year_pieces(book, 2026) if p.brightness < 1)
    world = World(piece.start + timedelta(seconds=5))
    player = Recorder(world)
    nightly(book, Dimmed(), player, world).run(
        lambda: world.wall() >= piece.stop - timedelta(seconds=5)
    )
    assert player.played[0][3] == 1.0 and player.played[0][2].brightness == piece.brightness


NIGHT = """
[almanac]
place = {{ {place} }}
[[rule]]
name = "night"
show = "plain.toml"
on = "every day"
from = "22:00"
to = "04:00"
"""
AMSTERDAM = 'latitude = 52.37, longitude = 4.90, timezone = "Europe/Amsterdam"'
ANGELES = 'latitude = 34.05, longitude = -118.24, timezone = "America/Los_Angeles"'


@pytest.mark.parametrize(
    ("place", "evening", "hours"),
    [
        (AMSTERDAM, datetime(2026, 10, 24, 20, tzinfo=UTC), 7),
        (AMSTERDAM, datetime(2026, 3, 28, 21, tzinfo=UTC), 5),
        (ANGELES, datetime(2026, 11, 1, 5, tzinfo=UTC), 7),
        (ANGELES, datetime(2026, 3, 8, 6, tzinfo=UTC), 5),
    ],
)
def test_night_of_a_clock_change_is_played_through(tmp_path, place, evening, hours):
    """22:00 to 04:00 on the wall: seven hours in autumn, five in spring, and no frame twice.

    Frames follow from the time since the evening began, so the repeated hour repeats nothing.
    """
    file = tmp_path / "almanac.toml"
    file.write_text(NIGHT.format(place=place))
    book = load_almanac(file)
    world = World(evening - timedelta(hours=2))
    player = Recorder(world)
    nightly(book, Shelf(), player, world).run(lambda: world.wall() >= evening + timedelta(hours=12))
    ((start, end, _, _, begun, close),) = player.played
    small = timedelta(milliseconds=2)
    assert abs(start - evening) < small and close
    assert abs(end - start - timedelta(hours=hours)) < small
    assert begun == pytest.approx(5000 + 2 * 3600, abs=0.01)
    # Killed and started again in each half hour of the night, it finds the frame that is due.
    shelf, piece = Shelf(), book.at(evening)
    frames = shelf.get(piece.show)
    for half in range(1, 2 * hours):
        moment = evening + timedelta(minutes=30 * half)
        sent = run_for(book, World(moment), shelf, 0.1)
        hair = timedelta(microseconds=50)
        for t, packet in sent:
            due = {due_frame(piece, t + i * hair, frames) for i in (-1, 1)}
            assert packet[126:] in [frames.flat()[i].tobytes() for i in due]


class Settable(World):
    """A world whose wall clock is set when it has run for so many seconds."""

    def __init__(self, start, *steps):
        super().__init__(start)
        self.steps = list(steps)

    def sleep(self, seconds):
        super().sleep(seconds)
        for step in [s for s in self.steps if self.time - 5000 >= s[0]]:
            self.steps.remove(step)
            self.wall_time += step[1]


HOUR = timedelta(hours=1)


@pytest.mark.parametrize(
    ("into", "step", "goes_dark"),
    [
        (2 * HOUR, -HOUR, False),  # back an hour, into the same evening
        (timedelta(minutes=20), -HOUR, True),  # back to before it began
        (2 * HOUR, timedelta(days=1), False),  # a day on, where the next evening plays
        (2 * HOUR, timedelta(days=1, hours=5), True),  # a day on, in the morning
        (2 * HOUR, timedelta(seconds=0.7), False),  # as a time server may set it
    ],
)
def test_clock_that_is_set_while_it_plays(tmp_path, into, step, goes_dark):
    """Light goes on with the frame that is due; it goes dark only where nothing plays now."""
    file = tmp_path / "almanac.toml"
    file.write_text(NIGHT.format(place=AMSTERDAM))
    book = load_almanac(file)
    begun = datetime(2026, 11, 20, 21, tzinfo=UTC)
    world = Settable(begun + into, (1.0, step))
    wire, shelf = Wire(world), Shelf()
    player = StreamPlayer(
        Source(UUID(int=5), "test"),
        home,
        wire,
        world,
        StreamOptions(steady=True),
    )
    nightly(book, shelf, player, world).run(
        lambda: world.time >= 5003 or (goes_dark and world.time > 5002)
    )
    frames = shelf.get(book.file.parent / "plain.toml")
    after = [sent for sent, t in zip(wire.sent, wire.times, strict=True) if 5001.001 < t < 5003]
    over = [p for _, p in after if p[112] & TERMINATED]
    assert len(over) == (3 if goes_dark else 0)
    numbers = [p[111] for _, p in wire.sent]
    assert numbers == [i % 256 for i in range(len(numbers))], "one unbroken sequence"
    lit = [any(p[126:]) for _, p in after]
    assert len(lit) > 20 or goes_dark
    assert not any(lit) if goes_dark else all(lit), "not dark for a moment, or at once"
    hair = timedelta(microseconds=50)
    for t, packet in [] if goes_dark else after:
        piece = book.at(t)
        due = {due_frame(piece, t + i * hair, frames) for i in (-1, 1)}
        assert packet[126:] in [frames.flat()[i].tobytes() for i in due]


def test_what_is_dimmed_is_kept_bright_too(tmp_path):
    """So that it can get brighter though its file breaks; after what is to play is ready."""
    file = tmp_path / "almanac.toml"
    file.write_text(BOOK)
    shelf = Shelf()
    noon = datetime(2026, 5, 6, 16, tzinfo=UTC)
    Keeper(Almanacs(file, None, print), shelf, wall=lambda: noon).look()
    assert shelf.bright == ["plain.toml"] and "plain.toml" in shelf.kept


def test_a_show_that_is_mended_is_told_of_too(book):
    """Who reads the next morning that a show broke wants to know whether it still is."""
    shelf, said = Shelf(), []
    noon = datetime(2026, 12, 24, 20, tzinfo=UTC)
    keeper = Keeper(Almanacs(book.file, None, print), shelf, wall=lambda: noon, say=said.append)
    name = keeper._pieces(book, noon)[0].show.name
    for problem in ("one", "one", "two", "", ""):
        shelf.problems = {name: f"{name}: {problem}", "never.toml": "x"} if problem else {}
        keeper.look()
    assert said == [f"{name}: one", f"{name}: two", f"{name}: all right again"]
