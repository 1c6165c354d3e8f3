"""When the blinking starts, from the brightness of cells; no film is needed here."""

import numpy as np
import pytest

from lumenmap.camera.blinks.blinking import FLASHES, Blinking
from lumenmap.camera.film.clock import find_clock
from lumenmap.core.errors import InputError


def cells_of(blinking, start, times, rng, offset=20.0):
    """Brightness of 100 cells, of which 30 follow the blinking's flashes."""
    cells = offset + rng.normal(0, 0.2, (len(times), 100))
    for picture in blinking.pictures:
        if picture.shows == "on":
            on = (times >= start + picture.start) & (times < start + picture.stop)
            cells[np.ix_(on, np.arange(30))] += 8
    # A neighbour's lights blink once a second, on and on.
    cells[:, 40:44] += 25 * ((times[:, None] % 1.0) < 0.5)
    return cells.astype(np.float32)


@pytest.mark.parametrize("start", [0.5, 2.34, 7.77])
def test_the_clock_is_found_beside_other_blinking(start):
    blinking = Blinking(200)
    rng = np.random.default_rng(3)
    times = np.arange(0, start + blinking.seconds + 1, 1 / 29.97)
    times = times + rng.uniform(-0.004, 0.004, len(times))  # phones vary their rate
    clock = find_clock(np.sort(times), cells_of(blinking, start, times, rng), blinking)
    assert clock.start == pytest.approx(start, abs=0.025)


@pytest.mark.parametrize("seed", range(4))
def test_the_clock_is_heard_though_a_hand_shakes(seed):
    """Edges of lit windows change cells by 20 codes as the hand shakes, flashes twelve others by 3."""
    blinking = Blinking(200)
    rng = np.random.default_rng(seed)
    times = np.arange(0, 2.34 + blinking.seconds + 1, 1 / 30)
    cells = 20 + rng.normal(0, 0.2, (len(times), 100))
    for picture in blinking.pictures[:FLASHES]:
        on = (times >= 2.34 + picture.start) & (times < 2.34 + picture.stop)
        cells[np.ix_(on, np.arange(12))] += 3
    # As in the films: five slow waves each (Hz), the slowest the largest.
    rates, phases = rng.uniform(0.15, 1.6, (40, 5, 1)), rng.uniform(0, 2 * np.pi, (40, 5, 1))
    waves = np.sin(2 * np.pi * rates * times + phases) / rates
    cells[:, 50:90] += 20 * (waves / (1 / rates).sum(1, keepdims=True)).sum(1).T
    clock = find_clock(times, cells.astype(np.float32), blinking)
    assert clock.start == pytest.approx(2.34, abs=0.025)


def test_a_film_that_ends_too_soon_is_told():
    blinking = Blinking(200)
    rng = np.random.default_rng(3)
    times = np.arange(0, 12, 1 / 30)
    cells = cells_of(blinking, 1.0, times, rng)
    with pytest.raises(InputError, match="s before the blinking does"):
        find_clock(times, cells, blinking)


@pytest.mark.parametrize("code", [0.0, 90.0])
def test_a_film_in_which_nothing_changes_is_told(code):
    """A black film, with the lens in a pocket, raised StopIteration."""
    times = np.arange(0, 30, 1 / 30)
    cells = np.full((len(times), 100), code, np.float32)
    with pytest.raises(InputError, match="nothing that changes; film the blinking"):
        find_clock(times, cells, Blinking(40))


def test_of_two_rounds_the_whole_one_is_read():
    """Sent in a loop, and filmed for a round and a half."""
    blinking = Blinking(40)
    rng = np.random.default_rng(3)
    times = np.arange(0, 1.5 * blinking.seconds + 1, 1 / 30)
    cells = cells_of(blinking, 1.0, times, rng)
    again = cells_of(blinking, 1.0 + blinking.seconds, times, rng)
    late = times > blinking.seconds
    cells[late] = again[late]
    assert find_clock(times, cells, blinking).start == pytest.approx(1.0, abs=0.03)


def test_a_film_from_the_middle_of_a_round_that_is_too_short_is_told_so():
    """It was said to show no flashes: they were looked for only where a whole round follows."""
    blinking = Blinking(200)
    times = np.arange(0, 1.15 * blinking.seconds, 1 / 30)
    cells = cells_of(blinking, 0.55 * blinking.seconds, times, np.random.default_rng(3))
    with pytest.raises(InputError, match=r"before the blinking does.* begins 1\d s into the film"):
        find_clock(times, cells, blinking)
