"""Mixing, dominant wavelengths, colour vision and harmonies against colour-science and daltonlens."""

import warnings

import numpy as np
import pytest

from lumenmap.colour import cie1931, dies, vision
from lumenmap.colour.making.harmony import HARMONIES, harmony
from lumenmap.colour.making.make import make
from lumenmap.colour.making.photo import from_photo
from lumenmap.core.errors import InputError
from lumenmap.parts.kinds import PIXEL_KINDS

with warnings.catch_warnings():
    warnings.simplefilter("ignore")
    import colour

#: The observer on the table's own wavelengths, so that nothing is interpolated.
CMFS = (
    colour.MSDS_CMFS["CIE 1931 2 Degree Standard Observer"]
    .copy()
    .align(colour.SpectralShape(380, 780, 5))
)
RNG = np.random.default_rng(4)
KINDS = [dies.Dies(k.dominant_nm, k.intensity) for k in PIXEL_KINDS.values()]


def spectral(power) -> "colour.SpectralDistribution":
    return colour.SpectralDistribution(power, cie1931.WAVELENGTHS)


def test_the_observers_table_is_the_published_one():
    # CIE 018:2019, every nanometre, from the colour-science package's own data files.
    want = colour.MSDS_CMFS["CIE 1931 2 Degree Standard Observer"]
    assert want[cie1931.WAVELENGTHS] == pytest.approx(cie1931.MATCHING, abs=1e-6)
    # CIE 15: the table's sums are those of the equal-energy light, x = y = 1/3.
    assert cie1931.xy(cie1931.MATCHING.sum(0)) == pytest.approx([1 / 3, 1 / 3], abs=1e-4)


def test_tristimulus_values_of_random_spectra_as_colour_science_has_them():
    for _ in range(20):
        power = RNG.random(81)
        want = colour.sd_to_XYZ(spectral(power), CMFS, method="Integration", k=5)
        assert cie1931.tristimulus(power) * 25 == pytest.approx(want, rel=2e-3)


@pytest.mark.parametrize("nm", [455, 466.5, 490, 523.5, 560, 590, 621, 640])
def test_dominant_wavelengths_as_colour_science_has_them(nm):
    power = dies.bell(nm, 30)
    chromaticity = cie1931.xy(cie1931.tristimulus(power))
    want = float(colour.dominant_wavelength(chromaticity, (1 / 3, 1 / 3))[0])
    assert dies.dominant_wavelength(chromaticity) == pytest.approx(want, abs=0.6)


@pytest.mark.parametrize("pixel", KINDS)
def test_each_die_has_the_dominant_wavelength_of_its_sheet(pixel):
    for channel, nm in enumerate(pixel.dominant_nm):
        found = colour.dominant_wavelength(cie1931.xy(pixel.xyz[:, channel]), (1 / 3, 1 / 3))[0]
        assert float(found) == pytest.approx(nm, abs=0.6)
    assert pixel.xyz[1] / pixel.xyz[1].sum() == pytest.approx(
        np.array(pixel.intensity) / sum(pixel.intensity)
    )


@pytest.mark.parametrize("pixel", KINDS)
def test_mixing_is_the_sum_of_spectra(pixel):
    """Outside check: the mixed spectrum integrated by colour-science has the mix's chromaticity."""
    spectra = [dies._spectrum(nm, w) for nm, w in zip(pixel.dominant_nm, dies.WIDTHS, strict=True)]
    each = [
        s / cie1931.tristimulus(s)[1] * y for s, y in zip(spectra, pixel.intensity, strict=True)
    ]
    for light in RNG.random((8, 3)):
        mixed = sum(a * s for a, s in zip(light, each, strict=True))
        want = colour.XYZ_to_xy(colour.sd_to_XYZ(spectral(mixed), CMFS, method="Integration", k=5))
        assert cie1931.xy(pixel.seen(light)) == pytest.approx(want, abs=1e-3)


@pytest.mark.parametrize("pixel", KINDS)
def test_white_balance_is_the_daylight_white(pixel):
    want = colour.CCS_ILLUMINANTS["CIE 1931 2 Degree Standard Observer"]["D65"]
    assert cie1931.xy(pixel.seen(pixel.balance)) == pytest.approx(want, abs=2e-4)
    assert pixel.balance.max() == 1
    assert (pixel.balance > 0).all()


@pytest.mark.parametrize("pixel", KINDS)
def test_matched_colours_have_the_screens_chromaticity(pixel):
    for rgb in RNG.uniform(0.2, 0.8, (50, 3)):
        light = (pixel.matching * rgb).sum(-1)
        want = colour.XYZ_to_xy(colour.RGB_to_XYZ(rgb, "sRGB"))
        assert cie1931.xy(pixel.seen(light)) == pytest.approx(want, abs=3e-4)
    assert pixel.matching.sum(-1).max() == pytest.approx(1)


def test_what_a_screen_shows_of_leds_stays_on_the_screen():
    shown = KINDS[0].on_screen(RNG.random((2000, 3)))
    assert shown.min() >= 0
    assert shown.max() <= 1
    assert KINDS[0].on_screen([0.0, 0.0, 0.0]) == pytest.approx([0, 0, 0])
    matched = (KINDS[0].matching * np.array([0.3, 0.5, 0.4])).sum(-1)
    on_screen = KINDS[0].on_screen(matched)
    assert on_screen / on_screen[1] == pytest.approx(np.array([0.6, 1, 0.8]), abs=1e-3)


@pytest.mark.parametrize(
    ("kind", "name"),
    [
        ("protanopia", "Protanomaly"),
        ("deuteranopia", "Deuteranomaly"),
        ("tritanopia", "Tritanomaly"),
    ],
)
def test_colour_vision_matrices_as_colour_science_prints_them(kind, name):
    want = colour.blindness.CVD_MATRICES_MACHADO2010[name][1.0]
    assert np.array(vision.KINDS[kind]) == pytest.approx(want, abs=1e-6)


@pytest.mark.parametrize(
    ("kind", "name"),
    [
        ("protanopia", "PROTAN"),
        ("deuteranopia", "DEUTAN"),
        ("tritanopia", "TRITAN"),
    ],
)
def test_colour_vision_as_daltonlens_simulates_it(kind, name):
    simulate = pytest.importorskip("daltonlens.simulate")
    from lumenmap.colour.transfer import to_linear, to_srgb

    image = RNG.integers(0, 256, (40, 40, 3), np.uint8)
    want = simulate.Simulator_Machado2009().simulate_cvd(
        image, getattr(simulate.Deficiency, name), severity=1.0
    )
    got = np.rint(255 * to_srgb(vision.seen_by(kind, to_linear(image / 255))))
    assert np.abs(got - want).max() <= 1


def test_harmonies_turn_the_hue_and_fit_the_screen():
    from lumenmap.colour import css, oklab

    base = "#8060a0"
    for name, turns in HARMONIES.items():
        made = harmony(base, name, lift=False)
        assert made[0] == base
        assert len(made) == len(turns)
    hues = [oklab.to_lch(oklab.from_linear(css.colour(c)))[2] for c in harmony(base, "square")]
    assert np.sort((np.array(hues) - hues[0] + 1) % 360 - 1) == pytest.approx(
        [0, 90, 180, 270], abs=2
    )


@pytest.mark.parametrize("base", ["#3a2010", "#102a10", "#2b0f3d", "#400000", "#556b2f", "gold"])
def test_harmonies_of_a_dark_base_are_bright_and_apart(base):
    """OKLab distances by coloraide, which shares no code with ours."""
    from coloraide import Color

    for name in HARMONIES:
        made = [Color(c) for c in harmony(base, name)]
        assert [max(c.coords()) for c in made] == pytest.approx([1] * len(made), abs=1 / 255), name
        gaps = [
            made[i].distance(made[j], space="oklab") for i in range(len(made)) for j in range(i)
        ]
        assert min(gaps) > 0.04, (name, gaps)
    for dim in harmony(base, "triad", lift=False):
        assert max(Color(dim).coords()) == pytest.approx(max(Color(base).coords()), abs=2 / 255)


def test_harmonies_of_no_hue():
    assert len(set(harmony("#808080", "shades"))) == 4
    assert harmony("white", "triad") == ["#ffffff"] * 3
    with pytest.raises(InputError, match="is black; expected the colour of a light"):
        harmony("black", "triad")


def test_mistakes_with_new_palettes(tmp_path):
    (tmp_path / "text.png").write_text("no picture")
    with pytest.raises(InputError, match="no such file"):
        from_photo(tmp_path / "none.png", 3)
    with pytest.raises(InputError, match="isn.t a readable picture"):
        from_photo(tmp_path / "text.png", 3)
    with pytest.raises(InputError, match='no harmony "triads"; did you mean "triad"'):
        harmony("red", "triads")
    with pytest.raises(InputError, match=r"either a picture \(--photo\) or a colour"):
        make(None, "", "triad", 3)
