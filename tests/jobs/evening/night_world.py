"""What the nightly program runs in when it is tested: clocks, player, wire and shelf of the test's own."""

from collections import Counter
from datetime import timedelta
from uuid import UUID

import numpy as np

from lumenmap.controller.e131.options import StreamOptions
from lumenmap.controller.e131.packets import TERMINATED, Source
from lumenmap.controller.e131.play import StreamPlayer
from lumenmap.controller.e131.routes import Routes
from lumenmap.controller.files.frameset import FrameLine, FrameSet
from lumenmap.jobs.evening.almanacs import Almanacs
from lumenmap.jobs.evening.keeper import Keeper
from lumenmap.jobs.evening.nightly import Clocks, Nightly
from lumenmap.jobs.evening.ready import Ready
from lumenmap.pixels.universes import plan_universes

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
        self.problems, self.kept, self.trouble = {}, {}, ""
        self.bright = []
        self.others = frozenset()

    def changed(self, show, brightness=1.0, values=()):
        return show.name not in self.kept

    def forget_all_but(self, wishes):
        pass

    def stale(self):
        return False

    def is_made(self, wish):
        return True

    def again(self):
        pass

    def keep_bright(self, show, values=()):
        self.bright.append(show.name)

    def get(self, show, brightness=1.0, values=()):
        return self.kept.setdefault(show.name, frames_of(show.name))


class Everything(dict):
    """All shows there may be, each ready."""

    def __init__(self, shelf):
        super().__init__()
        self.shelf = shelf

    def get(self, wish, default=None):
        return self.shelf.get(*wish)

    def __contains__(self, show):
        return True


def nightly(book, shelf, player, world, **more):
    """An evening that has all its shows ready; while nothing plays, it looks up once a minute."""
    ready = Ready(book, Everything(shelf))
    made = Nightly(lambda: ready, player, Clocks(world.wall, world), **more)
    made.look_seconds = 60.0
    return made


def kept_up(file, shelf, player, world, said, **more):
    """An evening whose files are looked at whenever it looks up."""
    keeper = Keeper(Almanacs(file, None, said.append), shelf, wall=world.wall, say=said.append)

    def ready():
        keeper.look()
        return keeper.ready

    made = Nightly(ready, player, Clocks(world.wall, world), **more)
    made.look_seconds = 60.0
    return made


class Wire:
    """A sender that keeps packets with the wall's time."""

    def __init__(self, world):
        self.world, self.sent, self.lost = world, [], Counter()
        self.times = []  # by the clock that never jumps

    def send(self, packet, address):
        self.times.append(self.world.time)
        self.sent.append((self.world.wall(), bytes(packet)))
        return True


def home(frames):
    units = plan_universes(frames.lines, frames.channels)
    return Routes(units, ((("127.0.0.1", 9),),) * len(units))


def run_for(book, world, shelf, seconds):
    wire = Wire(world)
    player = StreamPlayer(
        Source(UUID(int=5), "test"),
        home,
        wire,
        world,
        StreamOptions(steady=True),
    )
    end = world.wall() + timedelta(seconds=seconds)
    nightly(book, shelf, player, world).run(lambda: world.wall() >= end)
    return [(t, p) for t, p in wire.sent if not p[112] & TERMINATED and any(p[126:])]
