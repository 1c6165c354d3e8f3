"""Patterns that run: looked up place by place, whatever changes."""

from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.testing import assert_array_equal

from lumenmap.colour.palette import K, Palette
from lumenmap.colour.running import running
from lumenmap.colour.stripe import stripe

PALETTE = Palette("test", ["red", "lime", "blue", "white"])
OTHER = PALETTE.remade(PALETTE.table[::-4, :3])
PLACE = np.linspace(0, 40, 501)
FRAMES = slice(0, 30)


def near(palette, u):
    """The entry at each place of the palette, and its neighbours: a place may lie between two."""
    entries = len(palette.table)
    return [
        palette.table[np.rint(u * entries + off).astype(int) % entries, :3] for off in (-0.01, 0.01)
    ]


@given(st.floats(0.3, 9), st.floats(0.3, 9), st.floats(-1e5, 1e5))
def test_a_pattern_whose_size_changes_is_looked_up_place_by_place(first, last, far):
    repeat = np.linspace(first, last, 30)[:, None]
    moved = far + np.linspace(0, 7, 30)[:, None]
    light = running([(FRAMES, PALETTE)], PLACE, moved, repeat)
    one, two = near(PALETTE, (PLACE - moved) / repeat)
    assert ((light == one) | (light == two)).all()


@given(st.floats(0, 6.3), st.floats(0, 6.3))
def test_places_that_move_are_sums(first, last):
    turn = np.linspace(first, last, 30)[:, None]
    moved = np.linspace(0, 7, 30)[:, None]
    across = [(PLACE, np.cos(turn)), (PLACE[::-1], np.sin(turn)), (PLACE, 0.5)]
    light = running([(FRAMES, PALETTE)], across, moved, 3.0)
    where = PLACE * np.cos(turn) + PLACE[::-1] * np.sin(turn) + PLACE * 0.5
    one, two = near(PALETTE, (where - moved) / 3.0)
    assert ((light == one) | (light == two)).all()


@pytest.mark.parametrize("repeat", [3.0, np.linspace(2, 5, 30)[:, None]], ids=["still", "changing"])
def test_each_run_of_frames_has_its_own_table_of_its_own_size(repeat):
    moved = np.linspace(0, 7, 30)[:, None]
    tables = [
        (slice(0, 4), PALETTE),
        (slice(4, 11), OTHER),
        (slice(11, 12), OTHER),
        (slice(12, 30), PALETTE),
    ]
    light = running(tables, PLACE, moved, repeat)
    for rows, table in tables:
        own = repeat if isinstance(repeat, float) else repeat[rows]
        alone = running([(slice(0, rows.stop - rows.start), table)], PLACE, moved[rows], own)
        assert_array_equal(light[rows], alone)


@given(st.floats(-3, 3), st.floats(-3, 3), st.sampled_from([(0,), (1,), (2,), (0, 1), (0, 2)]))
def test_a_weight_that_could_change_and_does_not_has_the_bytes_of_a_number(east, up, which):
    """Whichever of the terms: those that stay are worked out before the others."""
    moved = np.linspace(0, 7, 30)[:, None]
    plain = [(PLACE, np.cos(east)), (PLACE[::-1] + 1, np.sin(east)), (PLACE * 0.3, np.tan(up))]
    changing = [(p, np.full((30, 1), w) if i in which else w) for i, (p, w) in enumerate(plain)]
    still = running([(FRAMES, PALETTE)], plain, moved, 3.0)
    assert_array_equal(running([(FRAMES, PALETTE)], changing, moved, 3.0), still)


def test_many_tables_and_many_chunks_meet_anywhere(monkeypatch):
    moved, repeat = np.linspace(0, 7, 30)[:, None], np.linspace(2, 5, 30)[:, None]
    ends = [0, 1, 4, 8, 9, 17, 30]
    tables = [(slice(a, b), (PALETTE, OTHER)[a % 2]) for a, b in pairwise(ends)]
    whole = running(tables, PLACE, moved, repeat)
    for rows in (1, 3, 4, 7, 29):
        monkeypatch.setattr("lumenmap.colour.running._AT_ONCE", rows * len(PLACE))
        assert_array_equal(running(tables, PLACE, moved, repeat), whole)


def test_what_stays_for_a_while_has_the_bytes_of_what_never_changes():
    moved = np.linspace(0, 7, 30)[:, None]
    repeat = np.where(np.arange(30) < 15, 3.1, 4.7)[:, None]
    changing = running([(FRAMES, PALETTE)], PLACE, moved, repeat)
    assert_array_equal(changing[:15], running([(FRAMES, PALETTE)], PLACE, moved, 3.1)[:15])
    assert_array_equal(changing[15:], running([(FRAMES, PALETTE)], PLACE, moved, 4.7)[15:])


def test_a_step_that_a_ramp_only_passes_is_drawn_coarser():
    full, passing = (stripe(PALETTE, lambda x: x, 1e-3, brief) for brief in (False, True))
    assert len(full.table) == 65536
    assert len(passing.table) == K
