"""Colours mixed for the dies, and white by a white die, against coloraide and colour-science."""

import warnings

import coloraide
import numpy as np
import pytest

from lumenmap.codes.white import join_white, split_white
from lumenmap.colour import cie1931, css, dies
from lumenmap.colour.gamut import NOTICEABLE, brought_in, change
from lumenmap.colour.palette import Palette
from lumenmap.core.errors import InputError
from lumenmap.parts.kinds import PIXEL_KINDS, pixel_kind
from lumenmap.parts.light import as_seen, dies_of

with warnings.catch_warnings():
    warnings.simplefilter("ignore")
    import colour

OBSERVER = "CIE 1931 2 Degree Standard Observer"
CMFS = colour.MSDS_CMFS[OBSERVER].copy().align(colour.SpectralShape(380, 780, 5))
D65 = colour.CCS_ILLUMINANTS[OBSERVER]["D65"]
EVERY = [dies_of(kind) for kind in PIXEL_KINDS.values()]


def seen_as(pixel: dies.Dies, even) -> np.ndarray:
    """X, Y, Z of light composed with white at 1, 1, 1; white has Y = 1."""
    return pixel.seen(even * pixel.balance) / pixel.seen(pixel.balance)[1]


@pytest.mark.parametrize("pixel", EVERY)
def test_a_green_that_no_screen_has_comes_out_as_it_was_asked_for(pixel):
    asked = coloraide.Color("oklch(0.7 0.27 145)").convert("xyz-d65").coords()
    got = Palette("", ["oklch(0.7 0.27 145)"]).mixed(pixel.even)(0.0).astype(float)
    assert seen_as(pixel, got) == pytest.approx(asked, abs=2e-3)
    screen = np.clip(css.colour("oklch(0.7 0.27 145)"), 0, 1)
    assert np.abs(seen_as(pixel, got) - colour.RGB_to_XYZ(screen, "sRGB")).max() > 0.02


@pytest.mark.parametrize("pixel", EVERY)
@pytest.mark.parametrize("text", ["color(rec2020 0 1 0)", "oklch(0.6 0.4 200)", "lch(50 140 330)"])
def test_beyond_the_dies_only_chroma_is_lost_and_no_more_than_must_be(pixel, text):
    """Outside check: lightness and hue by coloraide's OKLCh."""
    given = css.colour(text)
    light = brought_in(given, pixel.even)
    assert light.min() == pytest.approx(0, abs=1e-5)
    asked = coloraide.Color("srgb-linear", given.tolist()).convert("oklch")
    got = coloraide.Color("xyz-d65", seen_as(pixel, light).tolist()).convert("oklch")
    assert got["hue"] == pytest.approx(asked["hue"], abs=0.5)
    assert got["chroma"] < asked["chroma"]
    if light.max() < 1:
        assert got["lightness"] == pytest.approx(asked["lightness"], abs=2e-3)
    assert change(given, pixel.even) > NOTICEABLE


@pytest.mark.parametrize("pixel", EVERY)
def test_white_black_and_what_is_only_too_bright(pixel):
    assert (brought_in([[1, 1, 1], [0, 0, 0]], pixel.even) == [[1, 1, 1], [0, 0, 0]]).all()
    dim, bright = brought_in([[0.2, 0.1, 0.05], [4, 2, 1]], pixel.even)
    assert bright.max() == 1 and bright / dim == pytest.approx(np.full(3, 1 / dim.max()))


def test_matched_white_is_daylight_and_multiplies_as_one():
    for pixel in EVERY:
        assert cie1931.xy(pixel.seen(pixel.balance)) == pytest.approx(D65, abs=6e-4)
        assert Palette("", ["white"]).mixed(pixel.even)(0.0).tolist() == [1, 1, 1]


@pytest.mark.parametrize("kelvin", [2700, 3000, 4000, 5000, 6500])
@pytest.mark.parametrize("strong", [300, 1900, 6000])
def test_daylight_on_a_pixel_with_a_white_die_is_daylight(kelvin, strong):
    """Outside check: the spectra that shine, by colour-science: Planck's law, and its D65."""
    kind = pixel_kind("sk6812-rgbw", white_kelvin=float(kelvin), white_intensity=float(strong))
    pixel = dies_of(kind)
    light = np.asarray(pixel.balance, np.float32)[None, None]
    codes = np.rint(255 * split_white(light, pixel.white_die))[0, 0]
    assert codes[3] > 20
    spectra = [dies._spectrum(nm, w) for nm, w in zip(pixel.dominant_nm, dies.WIDTHS, strict=True)]
    spectra.append(colour.sd_blackbody(kelvin, CMFS.shape).values)
    total = sum(
        code * lumens * spectrum / (spectrum * CMFS.values[:, 1]).sum()
        for code, lumens, spectrum in zip(codes, (*pixel.intensity, strong), spectra, strict=True)
    )
    seen = colour.XYZ_to_xy((total[:, None] * CMFS.values).sum(0))
    assert np.abs(seen - D65).max() < 0.006
    joined = join_white(codes[None, None].astype(np.float32) / 255, pixel.white_die)
    assert joined[0, 0] == pytest.approx(pixel.balance, abs=0.01)


def test_any_light_split_is_the_same_light_and_uses_the_white_die():
    rng = np.random.default_rng(3)
    light = rng.random((20, 50, 3)).astype(np.float32)
    for kelvin in (1800.0, 4000.0, 9000.0):
        kind = pixel_kind("sk6812-rgbw", white_kelvin=kelvin)
        white = dies_of(kind).white_die
        split = split_white(light, white)
        assert split.min() >= 0 and split.max() <= 1
        assert join_white(split, white) == pytest.approx(light, abs=2e-6)
        assert (split[..., :3].min(-1) < 1e-6).all() or split[..., 3].max() == 1
    seen = as_seen(np.ones((1, 1, 4), np.float32), kind)
    assert seen.min() > 1, "all four dies are brighter than the white of three"


def test_a_white_die_needs_a_pixel_that_has_one():
    with pytest.raises(InputError, match="ws2812b pixels have no white die"):
        pixel_kind("ws2812b", white_kelvin=3000.0)
    with pytest.raises(InputError, match="is 300; expected 1500 to 20000"):
        pixel_kind("sk6812-rgbw", white_kelvin=300.0)
