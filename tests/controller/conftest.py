"""A clock and a network that are the test's own, and a small show."""

import contextlib
import os
from collections import Counter
from dataclasses import replace
from uuid import UUID

import numpy as np
import pytest

from lumenmap.controller.e131.packets import Source
from lumenmap.controller.files.frameset import FrameLine, FrameSet, open_frames
from lumenmap.jobs.export import export
from lumenmap.jobs.project import Project, load


class FakeClock:
    """Time that passes only when it is slept, or when a test says so."""

    def __init__(self, now=1000.0):
        self.time = now
        self.hiccups = []  # (at, seconds): a sleep that passes `at` lasts that much longer

    def now(self):
        return self.time

    def sleep(self, seconds):
        assert seconds >= 0
        self.time += seconds
        for hiccup in list(self.hiccups):
            if self.time >= hiccup[0]:
                self.hiccups.remove(hiccup)
                self.time += hiccup[1]


class FakeSender:
    """Keeps what is sent, with the time; fails while `down` says so."""

    def __init__(self, clock):
        self.clock = clock
        self.lost = Counter()
        self.sent = []
        self.down = lambda _now: False

    def send(self, packet, address):
        if self.down(self.clock.now()):
            self.lost["network unreachable"] += 1
            return False
        self.sent.append((self.clock.now(), address, bytes(packet)))
        return True

    def close(self):
        pass


@pytest.fixture
def clock():
    return FakeClock()


@pytest.fixture
def sender(clock):
    return FakeSender(clock)


@pytest.fixture
def source():
    return Source(UUID("6ba7b810-9dad-11d1-80b4-00c04fd430c8"), "Test source")


def frame_set(frames, counts=(170,), *, fps=40.0, channels=3, first_universe=1, seed=5):
    """Random codes on lines of so many pixels."""
    rng = np.random.default_rng(seed)
    codes = rng.integers(0, 256, (frames, sum(counts), channels), dtype=np.uint8)
    per, at, universe, lines = 512 // channels, 0, first_universe, []
    for i, count in enumerate(counts):
        lines.append(FrameLine(f"line-{i}", at, count, universe, "RGBW"[:channels]))
        at += count
        universe += -(-count // per)
    return FrameSet(codes, fps, tuple(lines))


@pytest.fixture
def make_frames():
    return frame_set


@pytest.fixture(scope="session")
def once(tmp_path_factory):
    """Return what is made by a name: once, for all processes of the tests."""
    shared = tmp_path_factory.getbasetemp()
    if "PYTEST_XDIST_WORKER" in os.environ:
        shared = shared.parent
    here = tmp_path_factory.mktemp("making")

    def made(name, make):
        found = shared / f"once-{name}"
        if not found.exists():
            make(here / name)
            with contextlib.suppress(OSError):  # another was quicker
                (here / name).rename(found)
        return found

    return made


@pytest.fixture(scope="session")
def exported(once):
    """Return the first 800 frames of a show by its file."""

    def frames(path):
        def make(folder):
            work = load(path)
            first = replace(work.show, frames=min(800, work.show.frames))
            export(Project.of(first, work.site), folder)

        return open_frames(once(f"{path.parent.name}-{path.stem}", make))

    return frames
