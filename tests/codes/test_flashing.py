"""Flashes against WCAG 2.2: its definitions, worked figures, and what streaming must not change."""

import numpy as np
import pytest

from lumenmap.codes.flashes import ADVICE
from lumenmap.codes.flashing import FlashCounter
from lumenmap.codes.transitions import LUMINANCE, chromaticity

WHITE, BLACK, RED, GREEN, BLUE = (1, 1, 1), (0, 0, 0), (1, 0, 0), (0, 1, 0), (0, 0, 1)


def linear(*rgb):
    """Linear light of 8-bit sRGB, by WCAG's own formula [P]."""
    c = np.array(rgb) / 255
    return tuple(np.where(c <= 0.04045, c / 12.92, ((c + 0.055) / 1.055) ** 2.4))


ORANGE = linear(255, 128, 0)


def watch(colours, *, fps=30.0, pixels=12, block=7, loop=True):
    light = np.repeat(np.array(colours, float)[:, None], pixels, axis=1)
    seen = FlashCounter(fps, {"house": np.arange(pixels)})
    for i in range(0, len(light), block):
        seen.add(light[i : i + block])
    return seen.findings(loop=loop)


def square(one, other, every, frames=240):
    return [one if t // every % 2 else other for t in range(frames)]


def kinds(found):
    """What is told by full light, which is what the criterion's figures are for."""
    return sorted({f.kind for f in found if f.brightest == 1})


@pytest.mark.parametrize(
    ("every", "most"), [(1, 30), (2, 15), (3, 10), (4, 8), (5, None), (15, None)]
)
def test_worked_square_waves(every, most):
    """White and black every 4 frames at 30 fps: up to 8 transitions in a second; every 5: 6 [K]."""
    found = watch(square(WHITE, BLACK, every))
    assert [f.transitions for f in found if f.kind == "general"] == ([most] if most else [])


def test_relative_luminance_of_worked_colours():
    """[P] definition, [K] values."""
    worked = {
        (255, 0, 0): 0.2126,
        (0, 255, 0): 0.7152,
        (0, 0, 255): 0.0722,
        (128, 128, 128): 0.2159,
        (89, 89, 89): 0.0999,
    }
    for rgb, wanted in worked.items():
        assert np.array(linear(*rgb)) @ LUMINANCE == pytest.approx(wanted, abs=5e-5)


def test_worked_distances_in_u_v():
    """CIE 1976 u'v' distances [K]."""
    worked = {WHITE: 0.2587, GREEN: 0.3281, BLUE: 0.4572, ORANGE: 0.1322}
    u, v, red = chromaticity(np.array([RED, *worked], float))
    assert np.hypot(u[1:] - u[0], v[1:] - v[0]) == pytest.approx(list(worked.values()), abs=5e-5)
    # Orange is itself saturated red in linear light: .82.
    assert red.tolist() == [True, False, False, False, True]


def test_u_v_of_a_colour_library():
    """CIE 1976 u'v' of sRGB colours by coloraide."""
    coloraide = pytest.importorskip("coloraide")
    rng = np.random.default_rng(0)
    for rgb in rng.random((30, 3)):
        u, v, _ = chromaticity(rgb)
        there = coloraide.Color("srgb-linear", list(rgb)).uv()
        assert (u, v) == pytest.approx(there, abs=2e-4)


@pytest.mark.parametrize(
    ("one", "other", "wanted"),
    [
        (BLUE, BLACK, []),  # 0.072 < 0.10: no general flash
        (RED, BLACK, ["general", "red"]),
        (RED, BLUE, ["general", "red"]),
        (RED, ORANGE, ["general"]),  # they differ by .13, not more than .2
        ((0.95,) * 3, (0.82,) * 3, []),  # the darker is above 0.80
        ((0.95,) * 3, (0.79,) * 3, ["general"]),
        ((0.55,) * 3, (0.46,) * 3, []),  # a change of 9 %
        ((0.55,) * 3, (0.45,) * 3, ["general"]),  # of 10 %
        ((0.3, 0.005, 0.005), (0.07, 0.07, 0.07), ["red"]),  # red without a change of luminance
    ],
)
def test_what_counts_as_a_flash(one, other, wanted):
    assert kinds(watch(square(one, other, 2))) == wanted


def test_peaks_and_valleys_are_what_is_measured():
    """A ramp up and down in small steps is one transition each way, however many steps."""
    wave = 0.5 + 0.5 * np.cos(
        np.arange(240) * 2 * np.pi / 8
    )  # 3.75 Hz at 30 fps: 7.5 turns a second
    assert kinds(watch(np.repeat(wave[:, None], 3, axis=1))) == ["general"]
    slow = 0.5 + 0.5 * np.cos(np.arange(240) * 2 * np.pi / 12)  # 2.5 Hz: 5
    assert watch(np.repeat(slow[:, None], 3, axis=1)) == []


def test_the_loop_is_judged_while_it_loops():
    """Four turns at the end and four at the start: only together are they too many."""
    quiet = [BLACK] * 90
    ends = [*square(WHITE, BLACK, 4, 16), *quiet, *square(BLACK, WHITE, 4, 16)]
    assert watch(ends, loop=False) == []
    found = watch(ends)
    assert kinds(found) == ["general"] and found[0].stop > len(ends) / 30


def test_a_show_shorter_than_a_second_loops_within_it():
    assert kinds(watch(square(WHITE, BLACK, 2, 8))) == ["general"]


def test_blocks_do_not_matter():
    rng = np.random.default_rng(1)
    colours = np.repeat(rng.random((200, 3)) * (rng.random((200, 1)) < 0.4), 1, axis=0)
    whole = watch(colours, block=200)
    assert whole
    for block in (1, 3, 8, 30, 64):
        assert watch(colours, block=block) == whole


def test_pixels_that_flash_in_turn_are_seen_though_their_mean_is_still():
    light = np.zeros((120, 20, 3))
    light[::4, ::2] = light[1::4, ::2] = 1
    light[2::4, 1::2] = light[3::4, 1::2] = 1
    seen = FlashCounter(30.0, {"house": np.arange(20)})
    seen.add(light)
    found = seen.findings()
    assert [f.pattern for f in found] == [True] and "many pixels" in str(found[0])


def test_a_lone_blinking_pixel_is_no_pattern():
    light = np.zeros((120, 40, 3))
    light[::2, 7] = 1
    seen = FlashCounter(30.0, {"house": np.arange(40)})
    seen.add(light)
    assert seen.findings() == []


def test_each_region_by_itself():
    light = np.zeros((120, 40, 3))
    light[::2, :10] = 1
    seen = FlashCounter(
        30.0, {"porch": np.arange(10), "ridge": np.arange(10, 40), "none": np.arange(0)}
    )
    seen.add(light)
    assert {f.region for f in seen.findings()} == {"porch"}


def test_it_says_when_and_never_that_all_is_safe():
    found = watch([BLACK] * 60 + square(WHITE, BLACK, 3, 60) + [BLACK] * 60)
    assert found[0].start == pytest.approx(1.7, abs=0.1) and found[0].stop < 5
    assert "from" in str(found[0]) and "general" in str(found[0])
    for text in (ADVICE, *map(str, found)):
        assert "safe" not in text.lower()


GREY = tuple(0.08 * c for c in WHITE)


def test_a_strobe_held_to_a_few_percent_is_told_by_its_own_light():
    (found,) = watch(square(GREY, BLACK, 2))
    assert (found.kind, found.brightest, found.pattern) == ("general", 0.08, False)
    assert "measured by the 8.0% of full light that this show gets to" in str(found)
    assert not watch(square(GREY, BLACK, 5))  # three flashes a second


@pytest.mark.parametrize(("share", "told"), [(0.092, True), (0.88, False)])
def test_a_tenth_of_the_shows_own_light_is_a_flash(share, told):
    """WCAG 2.2: 10 % of the maximum, with the darker image below 80 % of it [P]."""
    dim = tuple(share * c for c in GREY)
    assert bool(watch([*square(GREY, dim, 2), *[GREY] * 60])) is told


def test_one_glint_does_not_hide_a_dim_strobe():
    light = np.zeros((120, 40, 3))
    light[::2, 1:] = GREY
    light[60, 0] = WHITE
    seen = FlashCounter(30.0, {"house": np.arange(40)})
    seen.add(light)
    assert [(f.kind, round(f.brightest, 6)) for f in seen.findings()] == [("general", 0.08)]


def test_the_same_is_found_however_long_the_show_and_however_it_is_cut(monkeypatch):
    colours = [*square(GREY, BLACK, 3, 200), *[BLACK] * 100, *square(GREY, BLACK, 1, 100)]
    whole = watch(colours, block=400)
    monkeypatch.setattr("lumenmap.codes.luminance._BLOCK", 100)
    monkeypatch.setattr("lumenmap.codes.luminance._IN_MEMORY", 100)  # in a file, that is
    assert watch(colours, block=7) == whole
    assert len(whole) == 2 and all(f.brightest == 0.08 for f in whole)
