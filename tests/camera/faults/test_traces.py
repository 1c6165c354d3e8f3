"""Steps in many invented films, whose spots are made without filming: what is found, and what isn't.

The houses, cameras and what hides pixels are invented; the cameras are OpenCV's.
"""

import re

import numpy as np
import pytest

from lumenmap.camera.faults.wiring import wiring_faults
from tests.camera.faults.traces import explained, found, house, trace
from tests.camera.houses import wired


def hidden_step(seed, kind):
    """The faults found with a step in a stretch of 14 to 24 pixels round a gable's peak, none of
    which is seen; and where it is (a pixel of the line, from 1)."""
    rng = np.random.default_rng(seed)
    site = house(seed % 12)
    wires = wired(site, None, rng)[0]
    own = wires["gable"]
    middle, half = len(own) // 2, int(rng.integers(7, 13))
    hole = int(rng.integers(middle - half + 2, middle + half - 2))
    if kind == "too many":
        own[hole:hole] = [None]
    else:
        del own[hole]
    spots = trace(site, wires, seed, hide=range(middle - half, middle + half), hidden=0.15)
    return wiring_faults(site, *explained(site, spots)), hole + 1


@pytest.mark.parametrize(("kind", "least"), [("too many", 12), ("too few", 20)])
def test_a_step_in_a_stretch_that_is_not_seen(kind, least):
    """Rails may hang 2 cm along themselves, a fifth of a spacing: some steps can't be told from it.
    Too few leave the line's last pixel without a hole, which tells more."""
    named = 0
    for seed in range(500, 524):
        faults, place = hidden_step(seed, kind)
        assert len(faults) <= 1, seed
        for fault in faults:
            assert (fault.kind, fault.lines) == (kind, ("gable",)), seed
            between = re.search(r"between pixels (\d+) and (\d+), which the film", fault.words)
            assert between is not None, seed
            low, high = map(int, between.groups())
            assert low <= place <= high, seed
            named += 1
    assert named >= least


def test_right_houses_give_no_alarm():
    """120 films of twelve houses; ``python -m tests.camera.faults.traces`` makes hundreds."""
    alarms = [n for n in range(600, 720) if found(n % 12, None, n)[0]]
    assert alarms == []
