"""Palettes: stops, interpolation against coloraide, looking up, and mistakes."""

import pickle
import warnings
from itertools import combinations

import coloraide
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.testing import assert_array_equal

from lumenmap.codes.white import split_white
from lumenmap.colour.check import CONFUSED, check, why_not
from lumenmap.colour.palette import K, Palette
from lumenmap.colour.palettes import builtin, rows
from lumenmap.colour.running import running
from lumenmap.colour.stripe import stripe
from lumenmap.core.errors import InputError
from lumenmap.parts.kinds import PIXEL_KINDS
from lumenmap.parts.light import dies_of

STOPS = ["#dff3ff", "oklch(0.62 0.14 240)", "#a02080", "gold"]


@pytest.mark.parametrize(
    ("space", "hue"),
    [
        ("oklab", "shorter"),
        ("oklch", "shorter"),
        ("oklch", "longer"),
        ("oklch", "increasing"),
        ("oklch", "decreasing"),
    ],
)
def test_interpolation_as_coloraide_does_it(space, hue):
    """Outside check: coloraide's interpolation in the same space, along the same hue path."""
    palette = Palette("test", STOPS, space=space, hue=hue, cyclic=False)
    path = coloraide.Color.interpolate(STOPS, space=space, hue=hue)
    for place in np.linspace(0, 1, 31):
        want = np.clip(path(place).convert("srgb-linear").coords(nans=False), 0, 1)
        got = palette(place)
        # A table of 1,024 entries is half an entry off at most.
        assert np.abs(got - want).max() < 4e-3


def test_a_cyclic_palette_comes_back_to_its_first_stop():
    palette = Palette("test", STOPS)
    assert_array_equal(palette(np.array([0.0, 1.0, -1.0, 17.0])), np.repeat(palette([0.0]), 4, 0))
    assert np.abs(np.diff(palette(np.arange(K + 1) / K), axis=0)).max() < 0.03


def test_an_open_palette_holds_its_ends():
    palette = Palette("test", ["red", "blue"], cyclic=False)
    assert palette(np.array([-5.0, 0.0])) == pytest.approx(np.array([[1, 0, 0]] * 2), abs=1e-6)
    assert palette(np.array([1.0, 9.0])) == pytest.approx(np.array([[0, 0, 1]] * 2), abs=1e-6)


def test_steps_hold_each_stop():
    palette = Palette("test", ["red", "lime", "blue"], steps=True)
    assert_array_equal(
        palette(np.array([0.01, 0.3, 0.34, 0.6, 0.7, 0.99])).argmax(-1), [0, 0, 1, 1, 2, 2]
    )


def test_positions_given_and_left_out():
    at = [
        s.at
        for s in Palette("t", ["red", ["lime", 0.2], "blue", {"colour": "gold", "at": 0.8}]).stops
    ]
    assert at == pytest.approx([0, 0.2, 0.5, 0.8])
    assert [s.at for s in Palette("t", ["red", ["lime", "25 %"]], cyclic=False).stops] == [0, 0.25]


@given(st.lists(st.floats(-1e6, 1e6), min_size=1, max_size=40))
def test_any_place_gives_an_entry_of_the_table(places):
    palette = Palette("test", STOPS)
    got = palette(np.array(places))
    index = np.rint(np.array(places) * K).astype(int) % K
    assert_array_equal(got, palette.table[index, :3])
    assert got.base.shape == (len(places), 4)


@given(st.floats(-1e4, 1e4), st.floats(-1e4, 1e4))
def test_running_is_looking_up_the_difference(place, moved):
    palette = Palette("test", STOPS)
    ran = running([(slice(0, 1), palette)], np.array([place]), np.array([[moved]]))
    near = ((place - moved) * K + np.array([-0.51, 0, 0.51])).round().astype(int) % K
    assert any((ran[0, 0] == palette.table[i, :3]).all() for i in near)


def test_running_takes_the_nearest_entry():
    """Neither the one before nor the one after, as looking up does."""
    palette = Palette("test", STOPS)
    number = np.arange(K)
    for off in (-0.45, -0.2, 0.0, 0.2, 0.45):
        ran = running([(slice(0, 1), palette)], (number + off) / K, np.zeros((1, 1)))[0]
        assert_array_equal(ran, palette.table[number, :3])


def test_a_cyclic_palette_may_begin_late():
    """Stops at a quarter and three quarters: half-way between them on both sides of the seam."""
    palette = Palette("t", [["red", 0.25], ["blue", 0.75]])
    assert palette([0.25])[0] == pytest.approx([1, 0, 0], abs=1e-6)
    assert palette([0.75])[0] == pytest.approx([0, 0, 1], abs=1e-6)
    assert palette([0.0])[0] == pytest.approx(palette([0.5])[0], abs=1e-6)
    assert palette([0.125])[0] == pytest.approx(palette([0.375])[0], abs=1e-6)


def test_shapes_and_stops():
    palette = Palette("test", STOPS)
    assert palette(0.3).shape == (3,)
    assert palette(np.zeros((2, 5))).shape == (2, 5, 3)
    assert palette(np.zeros((0, 5))).shape == (0, 5, 3)
    assert palette.stop(np.array([[-1, 4, 7]])).shape == (1, 3, 3)
    assert_array_equal(palette.stop(-1), palette.stop(3))


def test_it_travels_to_another_process_whole():
    palette = Palette("test", STOPS)
    back = pickle.loads(pickle.dumps(palette))
    assert_array_equal(back(np.linspace(0, 1, 99)), palette(np.linspace(0, 1, 99)))


def test_a_stripe_gives_each_stop_its_group():
    drawn = stripe(Palette("t", ["red", "lime"]), lambda x: (x < 0.5).astype(float), 0.01)
    assert drawn(np.array([0.1, 0.3, 0.6, 0.9])) == pytest.approx(
        np.array([[1, 0, 0], [0, 0, 0], [0, 1, 0], [0, 0, 0]])
    )


@pytest.mark.parametrize(
    ("stops", "options", "message"),
    [
        ([], {}, "stops: has 0 stops; expected 1 to 256"),
        (["red"] * 257, {}, "has 257 stops"),
        ("red", {}, "expected a list of colours"),
        (["red", "rde"], {}, r'stops item 2: no colour "rde"; did you mean "red"'),
        (["red", ["lime", 2]], {}, r"stops item 2: its position is 2; expected 0 to 1"),
        (["red", ["lime", float("nan")]], {}, "its position is nan"),
        ([["red", 0.5], ["lime", 0.2]], {}, "is before that of the stop before it"),
        ([{"color": "red"}], {}, 'has no key "color"; expected colour and at'),
        ([{"at": 0.5}], {}, "expected"),
        ([3], {}, "expected"),
        (["red"], {"space": "hsl"}, 'no interpolation space "hsl"'),
        (["red"], {"hue": "long"}, 'no hue path "long"; did you mean "longer"'),
    ],
)
def test_mistakes_are_said_with_their_place(stops, options, message):
    with pytest.raises(InputError, match=message):
        Palette("test", stops, **options)


def test_palettes_for_occasions_of_many_peoples():
    occasions = {r.occasion for r in rows()} - {"every day", "winter"}
    assert len(occasions) >= 16
    assert len(builtin()) == len(rows()), "names are unique"


@pytest.mark.parametrize("row", rows(), ids=lambda r: r.name)
def test_built_in_palettes_are_made_for_leds(row):
    found = check(row.palette, (18.5,) * 3, 0.7)
    assert not found.not_shown
    assert not found.alike
    assert 0.005 < found.mean_amps < 0.045


@pytest.mark.parametrize(
    ("colour", "why"),
    [
        ("saddlebrown", "brown looks like dim orange"),
        ("grey", "grey looks like dim white"),
        ("black", "switched off"),
        ("#06060a", "looks off"),
        ("orange", ""),
        ("white", ""),
        ("color(rec2020 0 1 0)", "beyond what these pixels can make"),
        ("oklch(0.7 0.27 145)", ""),
    ],
)
def test_what_lights_cannot_show(colour, why):
    found = why_not(Palette("t", [colour]).stops[0], dies_of(PIXEL_KINDS["ws2812b"]))
    assert (why in found) if why else found == ""


def test_check_by_hand():
    """White draws all channels, red one; red and green are confused without green cones."""
    found = check(Palette("t", ["white", "red", "#8c6d00", "white"], steps=True), (10, 20, 30), 1)
    assert found.amps == pytest.approx(
        [0.061, 0.011, (1 + 10 * 0.262 + 20 * 0.153) / 1000, 0.061], abs=2e-4
    )
    assert (0, 3) in found.alike
    assert check(Palette("t", ["#ff8f1f", "#3fd000"]), (1, 1, 1), 0).confused == [
        ("protanopia", 0, 1),
        ("deuteranopia", 0, 1),
    ]


def test_currents_are_those_of_a_matched_show():
    """White by the dies' balance; with a white die, by that and what the others add to it."""
    for name in ("ws2812b", "sk6812-rgbw"):
        kind = PIXEL_KINDS[name]
        dies = dies_of(kind)
        light = dies.balance.astype(np.float32)[None, None]
        if kind.channels == 4:
            light = split_white(light, dies.white_die)
        due = (light[0, 0] * kind.channel_ma).sum() + kind.idle_ma
        found = check(Palette("t", ["white"]), kind.channel_ma, kind.idle_ma, dies)
        assert found.amps[0] * 1000 == pytest.approx(due)
        assert found.mean_amps == pytest.approx(found.amps[0])


def test_pairs_that_some_eyes_confuse_are_those_of_colour_science():
    """Outside check: Machado's matrices and CIEDE2000 by colour-science, over all our palettes."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        import colour
    names = {
        "protanopia": "Protanomaly",
        "deuteranopia": "Deuteranomaly",
        "tritanopia": "Tritanomaly",
    }
    white = colour.CCS_ILLUMINANTS["CIE 1931 2 Degree Standard Observer"]["D65"]

    def lab(rgb):
        return colour.XYZ_to_Lab(colour.RGB_to_XYZ(np.clip(rgb, 0, 1), "sRGB"), white)

    pairs = 0
    for row in rows():
        rgb = np.clip([s.rgb for s in row.palette.stops], 0, 1)
        due = []
        for i, j in combinations(range(len(rgb)), 2):
            if colour.delta_E(lab(rgb[i]), lab(rgb[j]), method="CIE 2000") < CONFUSED:
                continue
            for kind, name in names.items():
                seen = rgb @ colour.blindness.CVD_MATRICES_MACHADO2010[name][1.0].T
                if colour.delta_E(lab(seen[i]), lab(seen[j]), method="CIE 2000") < CONFUSED:
                    due.append((kind, i, j))
        assert check(row.palette, (1, 1, 1), 0).confused == due, row.palette.name
        pairs += len({(i, j) for _, i, j in due})
    assert pairs >= 28
