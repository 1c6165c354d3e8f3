"""Ramps: values by hand, integrals against an independent quadrature, and how they are written."""

from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import fixed_quad

from lumenmap.core.errors import InputError
from lumenmap.motion.easing import easing
from lumenmap.motion.options import FT, Count, Duration, Length, Share, Speed
from lumenmap.motion.ramp import Ramp
from lumenmap.motion.ramp_reading import read_ramp
from lumenmap.motion.reading import Reading
from lumenmap.motion.shapes import lightness, luminance
from lumenmap.motion.varying import (
    Course,
    highest,
    lowest,
    moved,
    now,
    reached,
    steps,
    turned,
    value_at,
)
from lumenmap.show.effects.specs import Spec

EASINGS = ["linear", "ease", "ease-in", "ease-out", "ease-in-out", "steps(4)"]


def at(*seconds):
    return np.array(seconds, float)[:, None]


def integral(function, *breaks):
    """The integral of a function of (T, 1) times that is smooth between breaks.

    By scipy's Gauss–Legendre rule of 21 points, which asks for all at once: QUADPACK finds the same
    to 1e-9, but asks for each by itself.
    """
    breaks = np.unique(breaks)
    at_once = lambda t: function(t[:, None])[:, 0]  # noqa: E731
    return sum(fixed_quad(at_once, *piece, n=21)[0] for piece in pairwise(breaks))


def test_values_by_hand():
    ramp = Ramp((1.0, 3.0, 4.0), (2.0, 6.0, 5.0))
    assert ramp(at(-1, 0, 1, 2, 3, 3.5, 4, 9)).ravel() == pytest.approx([2, 2, 2, 4, 6, 5.5, 5, 5])
    again = Ramp((0.0, 2.0), (1.0, 3.0), repeat=True)
    assert again(at(0, 1, 2.5, 5)).ravel() == pytest.approx([1, 2, 1.5, 2])


def test_an_easing_that_overshoots_stays_in_the_options_range():
    ramp = Ramp((0.0, 1.0), (0.0, 1.0), easing("cubic-bezier(0.5, -2, 0.5, 3)"), low=0.0, high=1.0)
    seen = ramp(np.linspace(0, 1, 99)[:, None])
    assert seen.min() == 0
    assert seen.max() == 1


@pytest.mark.parametrize("name", EASINGS)
@pytest.mark.parametrize("repeat", [False, True])
def test_distance_is_the_integral_of_the_speed(name, repeat):
    """Against scipy's quadrature, an independent implementation."""
    ramp = Ramp((0.0, 2.0, 5.0), (1.0, 4.0, -2.0), easing(name), repeat)
    breaks = np.concatenate([np.linspace(0, 2, 9), np.linspace(2, 5, 13)])
    for stop in (0.7, 3.3, 8.4):
        points = [b + 5 * k for k in (0, 1) for b in breaks if 0 < b + 5 * k < stop]
        truth = integral(ramp, 0, *points, stop)
        course = Course(ramp, at(stop))
        assert moved(course, at(stop))[0, 0] == pytest.approx(truth, abs=1e-5), stop


@pytest.mark.parametrize("name", EASINGS)
def test_turns_are_the_integral_of_one_over_the_period(name):
    ramp = Ramp((0.0, 3.0), (4.0, 1.0), easing(name))
    breaks = np.linspace(0, 3, 13)[1:-1]
    truth = integral(lambda t: 1 / ramp(t), 0, *breaks, 3, 4)
    assert turned(Course(ramp, at(4)), at(4))[0, 0] == pytest.approx(truth, abs=1e-6)


@given(
    pace=st.sampled_from([-2.0, 0.5, 1.0, 3.0]),
    late=st.floats(0, 3),
    first=st.floats(0.5, 3),
    last=st.floats(0.5, 3),
)
def test_nothing_jumps_whatever_the_layers_pace_and_delay(pace, late, first, last):
    """A step of a millisecond moves no further than its fastest speed allows; 0 at time 0."""
    ramp = Ramp((0.0, 2.0), (first, last))
    since = np.arange(0, 5, 0.001)[:, None]
    t = (since - late) * pace
    gone = moved(Course(ramp, since, pace, late), t)
    steps = np.abs(np.diff(gone[:, 0]))
    assert steps.max() <= 0.001 * abs(pace) * max(first, last) * (1 + 1e-6)
    assert steps.min() >= 0.001 * abs(pace) * min(first, last) * (1 - 1e-6)
    start = np.array([[late]])
    assert moved(Course(ramp, start, pace, late), 0 * start)[0, 0] == pytest.approx(0, abs=1e-9)


def test_a_plain_number_is_the_plain_formula():
    t = at(0, 1, 2.5)
    assert (moved(3.0, t) == 3.0 * t).all()
    assert (turned(3.0, t) == t / 3.0).all()
    assert now(3.0) == value_at(3.0, t) == highest(3.0) == lowest(3.0) == 3.0


def test_values_at_other_times_are_by_the_layers_own_clock():
    ramp = Ramp((0.0, 10.0), (0.0, 10.0))
    course = Course(ramp, at(4.0), pace=2.0, late=1.0)
    assert value_at(course, np.array([6.0, 0.0])) == pytest.approx([4.0, 1.0])
    assert (highest(course), lowest(course)) == (10.0, 0.0)


@pytest.mark.parametrize("count", [-3.2, 0.0, 1.0, 7.5, 40.0])
@pytest.mark.parametrize(("pace", "late"), [(1.0, 0.0), (-0.7, 0.4), (2.5, -3.0)])
def test_when_so_many_periods_have_passed_is_the_inverse_of_how_many_have(pace, late, count):
    ramp = Ramp((0.0, 9.0, 12.0), (2.0, 5.0, 0.7), easing("ease"))
    when = reached(Course(ramp, at(0), pace, late), count)
    there = Course(ramp, when / pace + late + at(0), pace, late)
    assert turned(there, when + at(0))[0, 0] == pytest.approx(count, abs=1e-9)
    assert reached(2.5, count) == 2.5 * count
    assert reached(Course(ramp, at(0), 0.0, late), count) == 0


def test_what_began_as_it_was_may_refuse_to_change():
    """An effect of one's own says so of an option; those of ours take the value at the beginning."""
    spec = Spec("size", Length("of a stone", low=0, high=1, steady=True), 0.5)
    with pytest.raises(InputError, match="can't change over time; expected 0 m to 1 m"):
        spec.read({"from": 0, "to": 1, "over": "9 s"}, Reading("m"))
    assert not spec.may_vary


def test_lightness_is_cie_1976():
    """CIE 15: L* of 18.4187 % is 50; 100 of white; 903.3 Y near black. From colour-science too."""
    colour = pytest.importorskip("colour")
    y = np.array([0, 0.0005, 0.008, 0.05, 0.184187, 0.5, 1.0])
    assert lightness(y) * 100 == pytest.approx(
        colour.colorimetry.lightness_CIE1976(y * 100), abs=1e-4
    )
    assert luminance(lightness(y)) == pytest.approx(y, abs=1e-9)
    assert lightness(np.array([0.184187]))[0] == pytest.approx(0.5, abs=1e-4)


def test_an_even_ramp_looks_half_done_at_half_its_time():
    ramp = Ramp((0.0, 1.0), (0.0, 1.0), even=True)
    assert lightness(ramp(at(0.25, 0.5, 0.75)))[:, 0] == pytest.approx([0.25, 0.5, 0.75])
    assert Ramp((0.0, 1.0), (0.3, 0.3), even=True)(at(0.4))[0, 0] == 0.3


READING = Reading("ft", beat=None)
SPEED = Speed("how fast", low=-90 * FT, high=90 * FT)


@pytest.mark.parametrize(
    ("table", "times", "feet"),
    [
        ({"at": ["0 s", "10 s"], "to": ["2 ft/s", "8 ft/s"]}, (0, 10), (2, 8)),
        ({"from": 2, "to": "8 ft/s", "over": "10 s"}, (0, 10), (2, 8)),
        ({"from": 2, "to": 8, "over": "10 s", "after": "5 s"}, (5, 15), (2, 8)),
        ({"to": [1, 2, 4], "over": "1 min"}, (0, 30, 60), (1, 2, 4)),
        ({"from": 1, "to": [2, 4], "over": "1 min"}, (0, 30, 60), (1, 2, 4)),
    ],
)
def test_ramps_are_written_by_times_or_by_how_long_they_take(table, times, feet):
    ramp = read_ramp(SPEED, table, READING)
    assert ramp.at == pytest.approx(times)
    assert np.array(ramp.to) / FT == pytest.approx(feet)
    assert (ramp.low, ramp.high) == (SPEED.low, SPEED.high)


GOOD = {"at": ["0 s", "10 s"], "to": [2, 8]}


@pytest.mark.parametrize(
    ("change", "says"),
    [
        ({"tos": 1}, 'no key of a ramp "tos"; did you mean "to"'),
        ({"to": None}, "a ramp needs `to`, the values"),
        ({"to": [2]}, "has 2 times but 1 value; expected as many"),
        ({"to": [2, "900 ft/s"]}, r"value 2 is 900 ft/s; expected -90 ft/s to 90 ft/s"),
        ({"to": [2, {}]}, "value 2 isn't a number"),
        ({"at": ["10 s", "0 s"]}, "the times don't rise"),
        ({"at": ["0 s", "0.0001 s"]}, "too close to each other"),
        ({"at": ["0 s", "-1 s"]}, 'time is "-1 s"; expected 0 s or more'),
        ({"at": ["0 s", True]}, 'time is true; expected "12 s"'),
        ({"at": "0 s"}, "`at` isn't a list of times"),
        ({"at": ["0 s"], "to": [2]}, "has 1 time; expected 2 to 256"),
        ({"at": ["0 s", "1 beat"]}, "the show has no tempo"),
        ({"over": "3 s"}, "a ramp needs either `at` or `over`"),
        ({"from": 2}, "`from` and `after` go with `over`"),
        ({"at": ["1 s", "2 s"], "repeat": True}, 'a ramp that repeats starts at "0 s"'),
        ({"repeat": 1}, "repeat is 1; expected true or false"),
        ({"easing": 3}, "easing is 3; expected an easing"),
        ({"easing": "eas-in"}, 'no easing "eas-in"; did you mean "ease-in"'),
    ],
)
def test_each_mistake_of_a_ramp_is_said(change, says):
    table = {k: v for k, v in {**GOOD, **change}.items() if v is not None}
    with pytest.raises(InputError, match=says):
        read_ramp(SPEED, table, READING)


def test_a_very_long_list_is_refused_and_not_read_to_its_end():
    table = {"to": list(range(100_000)), "over": "10 s"}
    with pytest.raises(InputError, match="expected 2 to 256"):
        read_ramp(Length("x", low=0, high=1e9), table, READING)


def test_kinds_that_can_change_gradually():
    assert Share("x").gradual and Share("x").by_frames
    assert Duration("x").gradual and not Duration("x").by_frames
    assert not Count("x").gradual


@pytest.mark.parametrize("name", EASINGS)
def test_steps_keep_where_a_ramp_stops_and_are_near_what_they_stand_for(name):
    """A step is at most a thirty-second of the range, and finer near its lowest value."""
    ramp = Ramp((0.0, 3.0, 5.0), (2.0, 10.0, 2.0), easing(name))
    since = np.linspace(-1, 6, 701)[:, None]
    stepped, passing = ramp.stepped(since)
    plain = ramp(since)
    assert np.abs(stepped - plain)[~passing].max() < 1e-5
    assert set(stepped[~passing].tolist()) <= {2.0, 10.0}
    assert not passing[(since <= 0) | (since >= 5)].any()
    assert np.abs(stepped - plain).max() <= 8 / 32 / 2
    low = (plain < 2.08) & passing
    assert np.abs(stepped - plain)[low].max(initial=0) < 0.013
    assert len(np.unique(stepped)) <= 67


def test_frames_that_share_their_steps_are_one_run():
    t = np.arange(8.0)[:, None]
    course = Course(Ramp((0.0, 1e6), (1.0, 2.0)), 8 * t)
    back = np.array([0, 0, 0, 1, 1, 0, 0, 0], bool)[:, None]
    runs = list(steps(t, course, 5.0, back))
    assert [rows for rows, _, _ in runs] == [slice(0, 1), slice(1, 3), slice(3, 5), slice(5, 8)]
    assert [brief for _, brief, _ in runs] == [False, True, True, True]
    assert [numbers for _, _, numbers in runs][2] == (1.0, 5.0, True)
    assert list(steps(t, 3.0, 5.0)) == [(slice(0, 8), False, (3.0, 5.0))]
