"""The colours of photographs, each difference measured by colour-science; pictures are made up."""

import warnings
from itertools import combinations

import numpy as np
import pytest
from PIL import Image, ImageDraw, ImageFilter

from lumenmap.colour import css, difference
from lumenmap.colour.making.photo import STEP, from_photo
from lumenmap.core.errors import InputError

with warnings.catch_warnings():
    warnings.simplefilter("ignore")
    import colour

RNG = np.random.default_rng(8)
D65 = colour.CCS_ILLUMINANTS["CIE 1931 2 Degree Standard Observer"]["D65"]


def lab(rgb):
    return colour.XYZ_to_Lab(colour.RGB_to_XYZ(rgb, "sRGB"), D65)


def apart(one: str, other: str) -> float:
    return float(colour.delta_E(lab(css.colour(one)), lab(css.colour(other)), method="CIE 2000"))


def test_ciede2000_as_colour_science_has_it():
    one, other = RNG.uniform([0, -80, -80], [100, 80, 80], (2, 3000, 3))
    other[::3] = one[::3] + RNG.normal(0, 3, one[::3].shape)
    want = colour.delta_E(one, other, method="CIE 2000")
    assert difference.ciede2000(one, other) == pytest.approx(want, abs=1e-9)
    rgb = RNG.random((500, 3))
    assert difference.cielab(rgb) == pytest.approx(lab(rgb), abs=0.02)


@pytest.mark.parametrize(
    ("one", "other", "published"),
    [
        # Sharma, Wu, Dalal 2005, table 1, pairs 1, 4, 7, 13, 17 and 19 [M].
        ((50, 2.6772, -79.7751), (50, 0, -82.7485), 2.0425),
        ((50, -1.3802, -84.2814), (50, 0, -82.7485), 1.0000),
        ((50, 0, 0), (50, -1, 2), 2.3669),
        ((50, -0.0010, 2.4900), (50, 0.0009, -2.4900), 4.8045),
        ((50, 2.5, 0), (73, 25, -18), 27.1492),
        ((50, 2.5, 0), (56, -27, -3), 31.9030),
    ],
)
def test_ciede2000_as_published(one, other, published):
    assert difference.ciede2000(one, other) == pytest.approx(published, abs=1e-4)


def photographed(tmp_path, colours, upright=True, accent=None):
    """Bands of colour as a camera has them: a little blurred, with grain, as a JPEG."""
    image = Image.new("RGB", (600, 400))
    draw = ImageDraw.Draw(image)
    for i, band in enumerate(colours):
        a, b = (size * i // len(colours) for size in (600, 400))
        draw.rectangle((a, 0, 600, 400) if upright else (0, b, 600, 400), fill=band)
    if accent:
        draw.ellipse((100, 100, 130, 130), fill=accent)
    soft = np.asarray(image.filter(ImageFilter.GaussianBlur(2))).astype(int)
    grain = RNG.integers(-6, 7, soft.shape)
    Image.fromarray(np.clip(soft + grain, 0, 255).astype(np.uint8)).save(
        tmp_path / "photo.jpg", quality=80
    )
    return tmp_path / "photo.jpg"


@pytest.mark.parametrize("upright", [True, False])
@pytest.mark.parametrize("count", [3, 5, 8])
@pytest.mark.parametrize(
    ("bands", "lights"),
    [
        (["#002395", "white", "#ed2939"], ["#0040ff", "white", "#ff1e39"]),
        (["#009246", "white", "#ce2b37"], ["#00ff7a", "white", "#ff263d"]),
        (["#169b62", "white", "#ff883e"], ["#1cffa3", "white", "#ff802a"]),
        (["#ae1c28", "white", "#21468b"], ["#ff1020", "white", "#2860ff"]),
        # Black is a light that is off.
        (["black", "#dd0000", "#ffce00"], ["#ff0000", "#ffd000"]),
    ],
)
def test_a_flag_of_three_bands_gives_its_colours(tmp_path, bands, lights, upright, count):
    found = from_photo(photographed(tmp_path, bands, upright), count)
    assert len(found) == len(lights)
    for light in lights:
        assert min(apart(light, got) for got in found) < 8, (light, found)


def test_a_small_strong_accent_is_found(tmp_path):
    """A red ball of 0.3 % of a meadow is one of even two colours."""
    for count in (2, 5):
        found = from_photo(photographed(tmp_path, ["#4a6a3a", "#5a7a44"], accent="#e01010"), count)
        assert min(apart("red", got) for got in found) < 6
        assert len(found) == 2


@pytest.mark.parametrize("greys", [["#333", "#777", "#bbb"], ["#202020"], ["#eee", "#ddd"]])
def test_a_grey_photograph_gives_white_once(tmp_path, greys):
    (only,) = from_photo(photographed(tmp_path, greys), 5)
    assert apart("white", only) < 3


def test_brown_gives_the_orange_that_it_is(tmp_path):
    (only,) = from_photo(photographed(tmp_path, ["#5a3a1a", "#8b5a2b"]), 5)
    assert apart("#ffa030", only) < 10


def test_natural_colours_are_full_and_a_visible_step_apart(tmp_path):
    """Hundreds of random patches: whatever is found is full, and no two are twins."""
    for i in range(12):
        patches = RNG.integers(0, 256, (6, 8, 3)).astype(np.uint8)
        image = Image.fromarray(patches).resize((480, 360), Image.Resampling.BICUBIC)
        image.save(tmp_path / f"{i}.png")
        found = from_photo(tmp_path / f"{i}.png", 6)
        assert found == from_photo(tmp_path / f"{i}.png", 6)
        assert 3 <= len(found) <= 6
        assert all(max(int(c[k : k + 2], 16) for k in (1, 3, 5)) == 255 for c in found)
        assert min(apart(a, b) for a, b in combinations(found, 2)) > STEP - 1


def test_a_black_picture_has_no_colours(tmp_path):
    Image.new("RGB", (40, 40)).save(tmp_path / "night.png")
    with pytest.raises(InputError, match="is black; expected a picture with colours in it"):
        from_photo(tmp_path / "night.png", 4)
