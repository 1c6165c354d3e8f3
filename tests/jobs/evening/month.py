"""Thirty evenings with edits, faults and restarts, every frame accounted for.

``python -m tests.jobs.evening.month`` prints what happened; it makes namespaces of
its own, with a disk of 1 MB and a loopback network whose failures are real ones. A short form is in
the suite.

What is checked of every frame that the controller receives: that it is one which the almanac and
the shows, as they were last good, let it expect, or let it expect ten seconds ago; that it is due
now; that it keeps inside the house's budget; that none is dark while light is due. And of every
evening: its frames, and no second without one, except while the wire was away, lent or the machine
suspended, and for a second after kill -9.
"""

import argparse
import random
import subprocess
import sys
import tempfile
import tomllib
from collections import Counter
from datetime import UTC, datetime, timedelta
from itertools import pairwise
from pathlib import Path
from uuid import UUID

from lumenmap.almanac.load import almanac_from
from lumenmap.controller import presence
from lumenmap.controller.e131 import target
from lumenmap.controller.e131.options import StreamOptions
from lumenmap.controller.e131.packets import Source
from lumenmap.controller.e131.play import StreamPlayer
from lumenmap.controller.e131.routes import Routes
from lumenmap.jobs.evening.almanacs import Almanacs
from lumenmap.jobs.evening.good_shows import GoodShows
from lumenmap.jobs.evening.keeper import Keeper
from lumenmap.jobs.evening.nightly import Clocks, Nightly, due_frame
from lumenmap.jobs.evening.ready import Doing
from lumenmap.pixels.universes import plan_universes
from tests.jobs.evening.month_world import (
    FPS,
    FRAMES,
    FULL,
    Killed,
    Kitchen,
    Lender,
    Roof,
    Wire,
    World,
    sh,
)

#: How long an edit may take to be seen, and how long light may be missing (s).
SOON, GAP, RESTART = 10.0, 1.0, 0.8
SHOWS = ("frost", "waves", "embers")
BOOK = """
[almanac]
place = {{ latitude = 40.71, longitude = -74.01, timezone = "America/New_York" }}
[[rule]]
name = "evenings"
show = "{show}.toml"
on = "every day"
from = "sunset"
to = "{to}"
brightness = {brightness}
[[dim]]
from = "21:00"
to = "23:59"
brightness = 0.5
"""


class Month:
    """The program under test, what happens to it, and what its controller should receive."""

    def __init__(self, folder, disk, seed, days, start):
        self.folder, self.disk, self.chance = folder, disk, random.Random(seed)
        self.world = World(start)
        self.end = start + timedelta(days=days)
        self.roof, self.lender, self.happened = Roof(self.world), Lender(), Counter()
        self.book = {"show": "frost", "to": "22:30", "brightness": 1.0}
        self.levels = {name: [k + 1, 1, 150] for k, name in enumerate(SHOWS)}
        self.most, self.away = 220, []  # stretches of time without a wire
        self.looked, self.changes, self.said = -1e9, [], []
        self.stirred = -1e9  # when a file, or anything else, changed last
        self.doing, self.broken = Doing(), False
        for name in SHOWS:
            self.write_show(name)
        self.write_house()
        self.write_book()
        target.time = presence.time = self.world
        presence.look_up = self.roof.look_up
        self.world.ticks.append(self.tick)

    # What people do.

    def write_show(self, name):
        number, version, level = self.levels[name]
        (self.folder / f"{name}.toml").write_text(f"show {number} version {version} level {level}")

    def write_house(self):
        (self.folder / "house.toml").write_text(f"most {self.most}")

    def write_book(self):
        (self.folder / "almanac.toml").write_text(BOOK.format(**self.book))

    def expect(self):
        """Take note of what is good from now on."""
        book = almanac_from(tomllib.loads(BOOK.format(**self.book)), self.folder / "almanac.toml")
        self.changes.append((self.world.time, Book(book), dict(self.levels), self.most))

    def edit_show(self):
        name = self.chance.choice(SHOWS)
        self.levels[name] = [
            self.levels[name][0],
            self.levels[name][1] % 20 + 1,
            self.chance.randint(90, 180),
        ]
        self.write_show(name)
        self.expect()

    def edit_book(self):
        self.book["show"] = self.chance.choice(SHOWS)
        self.book["to"] = self.chance.choice(["22:15", "22:30", "23:00"])
        self.write_book()
        self.expect()

    def edit_brightness(self):
        self.book["brightness"] = self.chance.choice([1.0, 0.8, 0.6, 0.45])
        self.write_book()
        self.expect()

    def edit_house(self):
        if self.broken:  # what is kept of the show might draw too much: another one would play
            return
        self.most = self.chance.choice([100, 130, 220])
        self.write_house()
        self.expect()

    def break_show(self):
        show = self.folder / f"{self.book['show']}.toml"
        show.write_text("broken")
        self.broken = True
        self.later(2600, lambda: self.mend(show.stem))

    def break_book(self):
        (self.folder / "almanac.toml").write_text("[almanac")
        self.later(2600, self.write_book)

    def mend(self, name):
        self.broken, self.stirred = False, self.world.time
        self.write_show(name)

    # What happens to machines.

    def later(self, seconds, what):
        self.world.at(self.world.time + seconds, what)

    def kill(self):
        raise Killed

    def suspend(self):
        self.gone(hours := self.chance.uniform(60, 5000))
        self.world._to(self.world.time + hours)

    def set_clock(self):
        step = self.chance.choice([-3600, -90, -5, 5, 90, 3600])
        self.world.wall_time += timedelta(seconds=step)
        self.expect()

    def gone(self, seconds):
        self.away.append((self.world.time, self.world.time + seconds))

    def network_away(self):
        sh("ip link set lo down")
        self.gone(120)
        self.later(120, lambda: sh("ip link set lo up"))

    def host_moved(self):
        """A refusal tells of it; its name is looked up again within half a minute."""
        self.roof.move("127.0.0.3" if self.roof.address == "127.0.0.2" else "127.0.0.2")
        self.gone(40)

    def borrowed(self):
        self.lender.asked = True
        self.gone(45)
        self.later(45, lambda: setattr(self.lender, "asked", False))

    def disk_full(self):
        full = self.disk / "full"
        sh(f"dd if=/dev/zero of={full} bs=4096 || true")
        self.later(3600, lambda: full.unlink(missing_ok=True))

    def disk_read_only(self):
        sh(f"mount -o remount,ro {self.disk}")
        self.later(3600, lambda: sh(f"mount -o remount,rw {self.disk}"))

    def happen(self, what):
        self.happened[what.__name__] += 1
        self.stirred = self.world.time
        self.said.append(f"{self.world.wall():%d %H:%M:%S} {what.__name__}")
        what()

    # The program, and looking after it.

    def tick(self):
        """What the program's other threads do."""
        # While it is dark and nothing has changed, looks would only take the simulation's time.
        often = self.lit() or self.world.time < self.stirred + 60
        if self.world.time - self.looked >= (8 if often else 30):
            self.looked = self.world.time
            self.presence.look()
            self.keeper.look()

    def lit(self):
        return self.doing.state == "playing"

    def program(self):
        """Start it afresh, as after a boot."""
        world, kitchen = self.world, Kitchen()
        self.wire = Wire(self.roof)
        self.wire.sender.expect([("roof.example", self.roof.port)])
        self.presence = presence.Presence(
            lambda: self.wire.sender.targets.values(), self.said.append, world.wall
        )
        self.presence._echo.close()
        self.presence._echo.ask = lambda hosts: set()
        almanacs = Almanacs(self.folder / "almanac.toml", self.disk, self.said.append)
        almanacs.keep()
        shows = GoodShows(self.disk / "shows", kitchen.render, kitchen.check)
        self.keeper = Keeper(almanacs, shows, wall=world.wall, say=self.said.append)
        self.looked = world.time
        self.presence.look()
        self.keeper.look()

        def route(frames):
            units = plan_universes(frames.lines, frames.channels)
            return Routes(units, ((("roof.example", self.roof.port),),) * len(units))

        player = StreamPlayer(
            Source(UUID(int=5), "month"), route, self.wire, world, StreamOptions(steady=True)
        )
        return Nightly(
            lambda: self.keeper.ready,
            player,
            Clocks(world.wall, world),
            wire=self.lender,
            report=lambda doing: setattr(self, "doing", doing),
        )

    def plan_evenings(self):
        """Ten things an evening, at any of its moments; rarer ones less often."""
        edits = [self.edit_show, self.edit_book, self.edit_brightness, self.edit_house]
        faults = [
            self.break_show,
            self.break_book,
            self.kill,
            self.suspend,
            self.set_clock,
            self.network_away,
            self.host_moved,
            self.borrowed,
            self.disk_full,
            self.disk_read_only,
        ]
        start, day = self.world.time, 86400
        for evening in range(round((self.end - self.world.wall()).total_seconds() / day)):
            # Between 16:30 and 22:30 in New York; each is over when the next begins.
            for k in range(10):
                moment = start + evening * day + 5 * 3600 + 2000 * k + self.chance.uniform(0, 90)
                what = self.chance.choice(edits if k % 2 else faults)
                self.world.at(moment, lambda what=what: self.happen(what))

    def run(self):
        self.expect()
        self.plan_evenings()
        while self.world.wall() < self.end:
            nightly = self.program()
            nightly.look_seconds = 10.0
            try:
                nightly.run(lambda: self.world.wall() >= self.end)
            except Killed:
                self.gone(RESTART + GAP)
                self.wire.close()
                self.world._to(self.world.time + RESTART)
        self.wire.close()
        self.presence.close()


class Book:
    """An almanac that works each evening out once; as slow as `Almanac.at` the first time."""

    def __init__(self, almanac):
        self.almanac, self.evenings = almanac, {}

    def at(self, moment):
        # New York is four or five hours behind; its evenings here end before midnight.
        day = (moment - timedelta(hours=5)).date()
        if day not in self.evenings:
            self.evenings[day] = self.almanac.evening(day)[0]
        return next((p for p in self.evenings[day] if p.start <= moment < p.stop), None)


def fits(month, heard, change, back=0.0):
    """Return whether a frame is one that a state of the files lets us expect at its moment."""
    _, wall, kind, codes = heard
    _, book, levels, most = change
    piece = book.at(wall - timedelta(seconds=back))
    if piece is None:
        return kind != "light"
    if kind != "light":
        return False
    number, version, level = levels[piece.show.stem]
    dim = codes[0] / FULL  # frames of another brightness are dimmed as they are sent
    wanted = min(level, most) * piece.brightness
    due = {due_frame(piece, wall + k * timedelta(seconds=0.1), _Length) for k in (-1, 0, 1)}
    counted = round(float(codes[6]) / dim / 8) - 1
    return (
        round(float(codes[3]) / dim / 40) == number
        and round(float(codes[4]) / dim / 10) == version
        and abs(codes[9] - wanted) <= 1.5
        and (counted in due or dim < 1)
        and codes[9] <= most
    )


class _Length:
    codes, fps = range(FRAMES), FPS


def judge(month):
    """Return what is wrong with what the controller received, and figures about it."""
    wrong, last = [], None
    changes, now = month.changes, 0
    for heard in month.roof.heard:
        time = heard[0]
        while now + 1 < len(changes) and changes[now + 1][0] <= time:
            now += 1
        recent = [
            c
            for k, c in enumerate(changes[: now + 1])
            if k == now or changes[k + 1][0] > time - SOON
        ]
        away = any(a - 0.01 <= time <= z + SOON for a, z in month.away)
        if not any(fits(month, heard, c) for c in recent):
            # At the very moment a piece ends or begins, either is right.
            near = any(fits(month, heard, c, back) for c in recent for back in (-GAP, GAP))
            if not near:
                wrong.append(
                    (heard[1], heard[2], heard[3][:10].tolist(), recent[-1][2], recent[-1][3])
                )
        if heard[2] == "light":
            if (
                last is not None
                and time - last > GAP
                and not away
                and _due(changes[now][1], month, last, heard)
            ):
                wrong.append(("gap", heard[1], time - last))
            last = time
    return wrong


def _due(book, month, last, heard):
    """Return whether light was due all the time between two frames."""
    span = heard[0] - last
    return all(book.at(heard[1] - timedelta(seconds=span * k / 8)) is not None for k in range(9))


def accounted(month):
    """Return evenings with light, frames, frames missing between others, and stretches without any.

    A stretch without light that isn't explained is in `judge`'s list.
    """
    lit = [heard for heard in month.roof.heard if heard[2] == "light"]
    gaps = [b[0] - a[0] for a, b in pairwise(lit)]
    return {
        "evenings": len({(heard[1] - timedelta(hours=5)).date() for heard in lit}),
        "frames": len(lit),
        "missing": sum(max(0, round(gap * FPS) - 1) for gap in gaps if gap <= GAP),
        "sent twice": sum(gap < 0.5 / FPS for gap in gaps),
        "without": sum(gap > GAP for gap in gaps),
    }


def simulate(days, seed, folder, disk):
    """Simulate and judge; raise if anything is wrong."""
    start = datetime(2026, 10, 20, 16, tzinfo=UTC)  # noon in New York; clocks go back on 1 November
    month = Month(folder, disk, seed, days, start)
    month.run()
    return month, judge(month), accounted(month)


def main(days, seed):
    with tempfile.TemporaryDirectory() as made:
        folder, disk = Path(made, "house"), Path(made, "disk")
        folder.mkdir()
        disk.mkdir()
        sh(f"ip link set lo up; mount -t tmpfs -o size=1m none {disk}")
        month, wrong, figures = simulate(days, seed, folder, disk)
        sh(f"umount {disk}")
    print(f"{days} days, seed {seed}: {figures}")
    print(f"happened: {dict(sorted(month.happened.items()))}")
    print(f"lost: {dict(month.wire.lost)}")
    for said in dict.fromkeys(month.said):
        print("said:", said)
    for line in wrong[:20]:
        print("WRONG", *line)
    print(f"{len(wrong)} wrong")
    sys.exit(bool(wrong))


if __name__ == "__main__":
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--days", type=int, default=30)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--inside", action="store_true", help="the namespaces are made already")
    asked = parser.parse_args()
    if not asked.inside:
        inside = [sys.executable, "-m", "tests.jobs.evening.month", "--inside", *sys.argv[1:]]
        sys.exit(subprocess.run(["unshare", "-rmn", *inside]).returncode)
    main(asked.days, asked.seed)
