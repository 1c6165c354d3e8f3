from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from lumenmap.controller.files.frameset import FrameLine
from lumenmap.core.errors import InputError
from lumenmap.pixels.build import map_pixels
from lumenmap.pixels.universes import number_universes, plan_universes


def line(count, universe=1, first=0, name="front"):
    return FrameLine(name, first, count, universe, "RGB")


@pytest.mark.parametrize(
    ("pixels", "channels", "universes", "last_slots"),
    # computed: 170 × 3 = 510, 128 × 4 = 512
    [
        (170, 3, 1, 510),
        (171, 3, 2, 3),
        (500, 3, 3, 480),
        (10200, 3, 60, 510),
        (128, 4, 1, 512),
        (129, 4, 2, 4),
        (1, 3, 1, 3),
    ],
)
def test_no_pixel_is_split(pixels, channels, universes, last_slots):
    got = plan_universes([line(pixels, 7)], channels)
    assert [u.number for u in got] == list(range(7, 7 + universes))
    assert got[-1].slots == last_slots
    assert all(u.slots % channels == 0 and u.slots <= 512 for u in got)


@given(st.lists(st.integers(1, 700), min_size=1, max_size=6), st.sampled_from([3, 4]))
def test_every_octet_of_a_frame_is_carried_once(counts, channels):
    lines, first, universe = [], 0, 1
    for i, n in enumerate(counts):
        lines.append(line(n, universe, first, f"line {i}"))
        first, universe = first + n, universe + -(-n // (512 // channels))
    spans = [u.octets for u in plan_universes(lines, channels)]
    assert spans[0].start == 0 and spans[-1].stop == sum(counts) * channels
    assert all(a.stop == b.start for a, b in pairwise(spans))


def test_lines_that_would_share_a_universe_are_refused():
    lines = [line(500, 1), line(100, 3, 500, "back")]
    with pytest.raises(
        InputError, match=r'line "back": universe 3 is already taken by line "front"'
    ):
        plan_universes(lines, 3)


def test_universes_beyond_the_last_are_refused():
    with pytest.raises(InputError, match='line "front": universe is 0; E1.31 has universes 1 to'):
        plan_universes([line(10, 0)], 3)
    with pytest.raises(InputError, match="need 2 universes from 63999; the last one is 63999"):
        plan_universes([line(171, 63999)], 3)


@pytest.mark.parametrize(("pixels", "universe"), [(170, 63999), (171, 63998), (340, 63998)])
def test_the_last_universe_may_be_used(pixels, universe):
    assert plan_universes([line(pixels, universe)], 3)[-1].number == 63999


@given(st.lists(st.integers(0, 700), min_size=1, max_size=9), st.sampled_from([3, 4]))
def test_lines_without_a_number_follow_each_other(counts, channels):
    """What the numbering gives, the plan accepts, without a gap."""
    firsts = number_universes(((n, None) for n in counts), channels)
    lines, pixel = [], 0
    for i, (n, universe) in enumerate(zip(counts, firsts, strict=True)):
        lines.append(line(n, universe, pixel, f"line {i}"))
        pixel += n
    planned = plan_universes(lines, channels)
    assert {u.line for u in planned} == {line.name for line in lines}, "an empty line has one too"
    numbers = [u.number for u in planned]
    assert numbers == list(range(1, len(numbers) + 1))


def test_a_line_follows_the_number_that_the_one_before_it_was_given():
    assert number_universes([(171, 7), (10, None), (10, 2), (10, None)], 3) == [7, 9, 2, 3]


BACK = """
[[line]]
name = "back"
path = ["main/eave-left"]
universe = 1
"""


def test_a_house_whose_lines_share_a_universe_is_refused(load):
    with pytest.raises(
        InputError, match=r'house\.toml: line "back": universe 1 is already taken by line "front"'
    ):
        map_pixels(load(add=BACK))
    numbers = [s.universe for s in map_pixels(load(add=BACK.replace("universe = 1", ""))).lines]
    assert numbers == [1, 2]
