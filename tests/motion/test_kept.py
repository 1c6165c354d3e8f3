"""Results are kept with their owner, no longer than it lives."""

import gc
import pickle
import weakref

import numpy as np

from lumenmap.colour.palette import Palette
from lumenmap.motion.at import At
from lumenmap.motion.kept import kept
from lumenmap.motion.noise import field
from lumenmap.motion.ways import measure


class Owner:
    def __init__(self):
        self.kept = {}


def counted(most):
    calls = []

    @kept(most)
    def work(owner, a, b=0):
        calls.append((a, b))
        return [a, b]

    return work, calls


def test_worked_out_once_for_each_owner_and_argument():
    work, calls = counted(8)
    one, other = Owner(), Owner()
    assert work(one, 1) is work(one, 1)
    assert work(one, 1, b=2) == [1, 2]
    assert work(one, 1) is not work(other, 1)
    assert calls == [(1, 0), (1, 2), (1, 0)]


def test_no_more_than_the_last_few_are_kept():
    work, calls = counted(2)
    owner = Owner()
    for a in (1, 2, 3, 3, 1):
        work(owner, a)
    assert [a for a, _ in calls] == [1, 2, 3, 1]


def test_the_owner_takes_its_results_with_it():
    work, _ = counted(8)
    owner = Owner()
    result = weakref.ref(owner)
    work(owner, 1)
    del owner
    gc.collect()
    assert result() is None


def places(n=5):
    x = np.arange(float(n))
    xyz = np.stack([x, 0 * x, 0 * x], -1)
    return At(xyz, x, x, x, xyz, x, xyz.min(0), xyz.max(0), {})


def test_distances_and_lattices_live_with_their_places():
    at = places()
    measure(at, "line")
    field(at, np.zeros((1, 1)), 1.0, 1.0, 1)
    assert len(at.kept) == 2
    # What is kept for all places doesn't hold for some of them, and does not travel.
    assert pickle.loads(pickle.dumps(at)).kept == {}
    assert np.array_equal(pickle.loads(pickle.dumps(at)).xyz, at.xyz)


def test_a_palette_travels_without_what_is_kept():
    palette = Palette("p", ["red", "blue"])
    palette.kept["x"] = [1]
    again = pickle.loads(pickle.dumps(palette))
    assert again.kept == {}
    assert np.array_equal(again.table, palette.table)
