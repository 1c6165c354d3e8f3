"""A year on the board: the table against the almanac that it was made from."""

import json
import random
import struct
import subprocess
import zlib
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from lumenmap.almanac.load import load_almanac
from lumenmap.controller.board.table import NO_IMAGE, Entry, image_id, year_table
from lumenmap.controller.flash.image import flash_image
from lumenmap.core.errors import InputError
from lumenmap.jobs.board import entries, pieces_of, year_board
from tests.controller.board.conftest import DARK, ERROR, LIVE, PLAYING, TABLE, show_of

#: An invented house in the zone of New York, whose clocks change in March and November.
ALMANAC = """
[almanac]
[almanac.place]
latitude = 42.0
longitude = -73.5
timezone = "America/New_York"
[quiet]
from = "23:30"
to = "05:30"
[[dim]]
from = "21:30"
to = "23:30"
brightness = 0.4
[[rule]]
show = "a.toml"
on = "01-01..12-31"
from = "sunset"
to = "22:00"
[[rule]]
show = "b.toml"
on = "friday..sunday"
from = "sunset + 1 h"
to = "01:30"
priority = 2
in_quiet_hours = true
[[rule]]
show = "c.toml"
on = "11-01"
from = "00:30"
to = "02:30"
priority = 3
in_quiet_hours = true
[[once]]
date = "2026-12-31"
show = "c.toml"
from = "sunset"
to = "01:00"
in_quiet_hours = true
"""
YEAR = 2026


@pytest.fixture(scope="module")
def made(tmp_path_factory):
    """The almanac, its images by number, its table."""
    file = tmp_path_factory.mktemp("almanac") / "almanac.toml"
    file.write_text(ALMANAC)
    almanac = load_almanac(file)
    pieces, span = pieces_of(almanac, YEAR)
    shows = sorted({p.show for p in pieces})
    made = [(show, ()) for show in shows]
    assert [s.name for s in shows] == ["a.toml", "b.toml", "c.toml"]
    images = [flash_image(show_of(40, (4,), seed=80 * (i + 1), fps=8.0)) for i in range(3)]
    table = year_table(entries(pieces, made), [image_id(i) for i in images], span, default=1)
    return almanac, shows, images, table, pieces


class Evening:
    """A board with a clock of its own, beside the true time."""

    def __init__(self, board, made, seed):
        self.make, (self.almanac, self.shows, self.images, self.table, _) = board, made
        self.random = random.Random(seed)
        self.true = datetime(YEAR, 1, 1, 12, tzinfo=UTC)
        self.power_up()

    def settle(self):
        """What plays goes on until the other show is ready, and joins where it is due."""
        self.board.jump(0)
        self.board.run(400, 5)
        self.true += timedelta(seconds=0.4)

    def power_up(self):
        """The board forgets everything but its flash; its counter starts anywhere."""
        self.board = self.make(memory=200, now=self.random.choice([0, 1 << 31, 0xFFFFFF00]), log=64)
        for i, image in enumerate(self.images):
            self.board.file(i, image)
        self.board.file(TABLE, self.table)
        self.board.follow()
        self.drift = self.random.uniform(-1e-4, 1e-4)  # ± 100 ppm
        self.synced = None
        self.settle()

    def sync(self):
        self.board.time(int(self.true.timestamp()))
        self.synced = self.true
        self.settle()

    def lose(self):
        self.board.lose_time()
        self.synced = None
        self.settle()

    def pass_(self, seconds):
        self.true += timedelta(seconds=seconds)
        self.board.jump(round(1000 * seconds * (1 + self.drift)))
        self.settle()

    def shown(self):
        """Which show is on the wire, and how bright: by pixel 1, which no show dims."""
        return self.board.wire(12)[0]

    def right(self, moment):
        """What the almanac would have at a moment: the code of pixel 1, 0 for dark."""
        piece = self.almanac.at(moment)
        if piece is None:
            return 0
        code = 80 * (self.shows.index(piece.show) + 1)
        return code * int(256 * piece.brightness) >> 8

    def check(self):
        known = self.board.utc != 0
        shown = self.shown()
        if not known:
            assert shown in (160, 0), f"{self.true}: neither the default nor black"
            return
        assert self.synced is not None
        age = (self.true - self.synced).total_seconds()
        # Whole seconds in the clock and in the table, a frame, and the drift.
        off = timedelta(seconds=1 + 0.5 + 0.5 + age * 1e-4)
        allowed = {self.right(self.true)}
        if shown not in allowed:
            allowed |= {self.right(self.true - off), self.right(self.true + off)}
        assert shown in allowed, (str(self.true), shown, allowed, self.board.state())


def test_a_year_of_drift_lost_time_and_a_thousand_power_cuts(board, made):
    """Right show or black at every look, the default where the time isn't known.

    The clock is off by up to 100 ppm (worse than the crystals of common boards, 10 to 50 ppm:
    from memory), and set anew on some days only.
    """
    e = Evening(board, made, 7)
    rand, cuts, looks, right = e.random, 0, 0, 0
    edges = sorted({t for p in made[4] for t in (p.start, p.stop)})
    end = datetime(YEAR + 1, 1, 1, 5, tzinfo=UTC)
    mean = (end - e.true).total_seconds() / 9000
    while e.true < end - timedelta(hours=10):
        coming = next((t for t in edges if t > e.true), None)
        gap = rand.expovariate(1 / mean)
        if coming is not None and rand.random() < 0.4:
            gap = (coming - e.true).total_seconds() + rand.choice([-2.0, -1, 0, 1, 2, 30])
        e.pass_(min(max(gap, 0.5), 80_000))
        e.check()
        looks += 1
        what = rand.random()
        if what < 0.4:
            e.power_up()
            cuts += 1
            e.check()
            if rand.random() < 0.7:
                e.sync()
                e.check()
        elif what < 0.6:
            e.sync()
            e.check()
        elif what < 0.63:
            e.lose()
            e.check()
        right += e.board.utc != 0 and e.shown() == e.right(e.true) != 0
    print(f"{looks} looks, {cuts} power cuts, {right} times the show itself was seen")
    assert cuts >= 1000 and right > 500


def test_every_piece_of_the_year_plays_and_no_other(board, made):
    """To the second, summer time included; the board's table against the almanac."""
    e = Evening(board, made, 3)
    e.drift = 0.0
    e.sync()
    for piece in made[4]:
        for at in (piece.start, piece.stop - timedelta(seconds=1)):
            e.true = at + timedelta(microseconds=1)
            e.board.time(round(at.timestamp()))
            e.settle()
            code = 80 * (e.shows.index(piece.show) + 1)
            assert e.shown() == code * int(256 * piece.brightness) >> 8, piece
            assert e.board.state() == PLAYING
    changes = [p for p in made[4] if p.show.name == "c.toml" and p.start.month == 11]
    assert len(changes) == 1 and changes[0].stop - changes[0].start == timedelta(hours=3), (
        "from 00:30 to 02:30 is three hours on the night on which the clocks go back"
    )


def test_a_show_joins_at_the_frame_that_is_due(board, made):
    e = Evening(board, made, 3)
    piece = next(p for p in made[4] if p.show.name == "b.toml")
    frames = show_of(40, (4,), seed=160, fps=8.0)
    e.board.time(round(piece.begun.timestamp()) + 1234)
    e.board.run(1000)
    e.board.run(600)
    rows = [f.tobytes() for f in (frames.flat().astype(int) * 256 >> 8).astype("u1")]
    at = rows.index(e.board.wire(12))
    assert abs((1234 + 1.6) * 8 % 40 - at) <= 2


def test_time_that_is_too_old_is_no_longer_trusted(board, made):
    e = Evening(board, made, 3)
    e.sync()
    e.pass_(6.9 * 86400 / 2)
    e.pass_(6.9 * 86400 / 2)
    assert e.board.utc
    e.pass_(0.3 * 86400)
    assert not e.board.utc and e.shown() == 160 and e.board.flashes() == 4


def test_before_and_after_the_tables_year_it_is_dark(board, made):
    e = Evening(board, made, 3)
    for at in ("2025-12-31T23:00-05:00", "2027-01-01T18:00-05:00", "1970-01-02T00:00+00:00"):
        e.board.time(int(datetime.fromisoformat(at).timestamp()))
        e.settle()
        assert not e.shown() and e.board.state() == DARK and e.board.flashes() == 7
    e.board.time(int(datetime.fromisoformat("2027-01-01T00:30-05:00").timestamp()))
    e.settle()
    assert e.shown(), "the old year's last evening goes on after midnight"


def test_image_in_the_wrong_place_is_not_shown(board, made):
    e = Evening(board, made, 3)
    piece = next(p for p in made[4] if p.show.name == "b.toml")
    e.board.file(1, e.images[2])
    e.board.time(round(piece.start.timestamp()))
    e.settle()
    assert e.board.state() == ERROR and e.board.error() == -6 and not e.shown()
    e.board.file(1, e.images[1])
    e.pass_(6)
    assert e.board.state() == PLAYING and e.shown()


def test_damaged_table_is_black_until_it_is_whole_again(board, made):
    e = Evening(board, made, 3)
    piece = made[4][5]
    bad = bytearray(e.table)
    bad[60] ^= 2
    e.board.file(TABLE, bad)
    e.board.time(round(piece.start.timestamp()))
    e.settle()
    assert not e.shown() and e.board.state() == ERROR and e.board.flashes() == 7
    e.board.file(TABLE, e.table)
    e.pass_(6)
    assert e.shown() and e.board.state() == PLAYING


def test_dark_board_still_knows_its_lines_for_live_light(board, made):
    from lumenmap.controller.e131.packets import Source, data_packet

    e = Evening(board, made, 3)
    e.board.time(int(datetime(YEAR, 6, 1, 12, tzinfo=UTC).timestamp()))
    e.settle()
    assert e.board.state() == DARK and e.board.flashes() == 3
    import uuid

    assert e.board.packet(data_packet(Source(uuid.UUID(int=1), "x"), 1, bytes([9] * 12))) == 0
    e.board.jump(30)
    assert e.board.state() == LIVE and e.board.wire(12) == bytes([9] * 12)
    e.board.run(3000)
    assert e.board.state() == DARK and not any(e.board.wire(12))


def test_table_is_small_and_laid_out_as_described(made):
    table = made[3]
    magic, version, images, default, level, count, begin, stop, zero = struct.unpack_from(
        "<4sBBBBIIII", table
    )
    assert (magic, version, images, default, level, zero) == (b"LMYT", 1, 3, 1, 255, 0)
    assert len(table) == 24 + 4 * 3 + 12 * count + 4 < 16_000
    assert stop - begin == 365 * 86400 + 3600, "and an hour of New Year's Eve"
    assert zlib.crc32(table[:-4]) == struct.unpack("<I", table[-4:])[0]


def test_tables_that_can_not_be_are_refused():
    one = Entry(100, 200, 100, 0, 255)
    with pytest.raises(InputError, match="two stretches of the year overlap"):
        year_table([one, Entry(199, 300, 199, 0, 9)], [1], (0, 1000))
    with pytest.raises(InputError, match="image 1; there are 1"):
        year_table([Entry(100, 200, 100, 1, 255)], [1], (0, 1000))
    with pytest.raises(InputError, match="65 shows play in this year"):
        year_table([], list(range(65)), (0, 1000))


def test_year_command_writes_a_board_that_compiles_and_plays(lumenmap, examples, tmp_path):
    out, almanac = tmp_path / "board", tmp_path / "almanac.toml"
    for file in ("almanac", "house", "first-frost", "candles"):
        text = (examples / "alder-cottage" / f"{file}.toml").read_text("utf-8")
        (tmp_path / f"{file}.toml").write_text(text.replace("fps = 30", "fps = 10"), "utf-8")
    done = lumenmap(
        "year", almanac, "--year", "2026", "--board", out, "--untimed", "none", "--json"
    )
    report = json.loads(done.out)["board"]
    shows = [(i["file"], i["show"]) for i in report["images"]]
    assert shows[0] == ("0.lmfi", "first-frost.toml")
    # One image for each night of candles, which one show file makes.
    assert sorted(i["values"]["candles"] for i in report["images"][1:]) == list(range(1, 9))
    assert report["untimed"] == "none"
    assert (out / "year.lmyt").read_bytes()[6] == NO_IMAGE
    subprocess.run(["make", "-s", "-C", out], check=True)
    for at, words in (
        ("2026-12-24T19:00-08:00", "image 0, First Frost"),
        ("2026-06-24T19:00-07:00", "3 flashes: dark"),
        ("2028-06-24T19:00-07:00", "7 flashes: the table is over"),
    ):
        utc = int(datetime.fromisoformat(at).timestamp())
        command = [
            out / "simulator",
            out,
            "--raw",
            "/dev/null",
            "--seconds",
            "1",
            "--utc",
            str(utc),
        ]
        got = subprocess.run(command, capture_output=True, text=True)
        assert words in got.stderr, got.stderr
    lumenmap("year", almanac, "--board", tmp_path / "x", "--untimed", "first-forst.toml").fails(
        2, 'no show "first-forst.toml"; did you mean "first-frost.toml"'
    )
    assert not (tmp_path / "x" / "year.lmyt").exists()


def test_shows_of_two_houses_are_refused(made, tmp_path):
    almanac = made[0]

    def render(show: Path, folder: Path, values):
        return show_of(8, (4,) if show.name == "a.toml" else (5,))

    with pytest.raises(InputError, match="is for another house than the first show of the year"):
        year_board(almanac, YEAR, tmp_path, render)
    assert not list(tmp_path.iterdir())
