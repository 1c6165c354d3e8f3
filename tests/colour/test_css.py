"""Colours read in, against coloraide and the printed examples of CSS Color 4."""

import subprocess
import sys

import coloraide
import numpy as np
import pytest
from PIL import ImageColor

from lumenmap.colour import css, oklab
from lumenmap.colour.names import NAMED
from lumenmap.colour.transfer import to_linear, to_srgb
from lumenmap.core.errors import InputError

RNG = np.random.default_rng(11)


def expected(text: str) -> list[float]:
    return coloraide.Color(text).convert("srgb-linear").coords(nans=False)


def test_every_named_colour_as_pillow_reads_it():
    assert set(NAMED) == set(ImageColor.colormap)
    for name in NAMED:
        codes = np.array(ImageColor.getrgb(name)) / 255
        assert css.colour(name) == pytest.approx(to_linear(codes), abs=1e-12)


def test_a_name_is_read_without_loading_pillow():
    code = "import sys; from lumenmap.colour.css import colour; colour('white')"
    code += "; print('PIL' in sys.modules)"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout == "False\n"


def test_every_named_colour_as_coloraide_reads_it():
    for name in set(NAMED) - {"mediumpurple", "palevioletred"}:
        assert css.colour(name) == pytest.approx(expected(name), abs=1e-12)


def test_two_names_that_coloraide_has_otherwise():
    """CSS Color 4, section 6.1: mediumpurple is 147 112 219, palevioletred 219 112 147."""
    assert css.colour("mediumpurple") == pytest.approx(css.colour("rgb(147 112 219)"))
    assert css.colour("palevioletred") == pytest.approx(css.colour("rgb(219 112 147)"))


@pytest.mark.parametrize(
    "text",
    [
        "#0b5d2a",
        "#0B5D2A",
        "#abc",
        "#abcf",
        "#aabbccff",
        "rgb(12 200 7)",
        "rgb(12, 200, 7)",
        "rgba(12, 200, 7, 1)",
        "rgb(10% 20% 30%)",
        "rgb(12.5 none 300 / 100%)",
        "hsl(120deg 50% 40%)",
        "hsl(0.3turn, 100%, 50%)",
        "hsl(-40 30% 80%)",
        "hwb(200 20% 10%)",
        "hwb(90 80% 60%)",
        "lab(52.2% 40.1 59.9)",
        "lab(3 2 -4)",
        "lch(52.2% 72.2 56.2)",
        "oklab(40.1% 0.1143 0.045)",
        "oklab(0.6 -20% 10%)",
        "oklch(40.1% 0.123 21.57)",
        "oklch(0.62 0.19 29)",
        "oklch(0.5 none 100grad)",
        "color(srgb 0.4 0.5 1)",
        "color(srgb-linear 0.1 1 0.4)",
        "color(display-p3 1 0.2 0)",
        "color(xyz 0.2 0.3 0.1)",
        "color(xyz-d50 0.2 0.3 0.1)",
        "color(xyz-d65 20% 30% 10%)",
        "color(a98-rgb 0.2 0.9 0.1)",
        "rgba(1, 2, 3, 100%)",
        "hsl( 120 , 50% , 50% )",
        "hsl(120 50 50/1)",
        "rgb(1 2% 3)",
    ],
)
def test_each_notation_as_coloraide_reads_it(text):
    # oklab(): the matrices published in 2020 and those of CSS Color 4 differ in the seventh digit.
    want = np.clip(expected(text), 0, 1) if text.startswith("rgb(12.5") else expected(text)
    assert css.colour(text) == pytest.approx(want, abs=2e-6)


@pytest.mark.parametrize("values", ["0.9 0.01 20%", "0.2 0.9 0.4", "1 1 1"])
def test_the_widest_space_as_coloraide_reads_it(values):
    """Its matrix is that of CSS Color 4; coloraide's has D50 in other digits, 1e-5 apart."""
    text = f"color(prophoto-rgb {values})"
    assert css.colour(text) == pytest.approx(expected(text), abs=5e-5)


def test_the_wide_television_space():
    """Outside check: BT.2020's primaries with the curve of BT.1886, a power of 2.4 (CSS Color 4)."""
    linear = [v**2.4 for v in (0.4, 0.8, 0.3)]
    want = coloraide.Color("rec2020-linear", linear).convert("srgb-linear").coords()
    assert css.colour("color(rec2020 0.4 0.8 0.3)") == pytest.approx(want, abs=2e-6)


@pytest.mark.parametrize(
    "body",
    [
        "120 50%, 50%",
        "120, 50% 50%",
        "120, 50, 50",
        "none, 50%, 50%",
        "120, 50%, 50% / 1",
        "120 50% 50%, 1",
        "120 50% 50% 1",
        "120 50% 50% /",
        "120,, 50%, 50%",
    ],
)
def test_commas_are_throughout_or_nowhere(body):
    """As in CSS Color 4, section 7; coloraide refuses each of them too."""
    with pytest.raises(ValueError):
        coloraide.Color(f"hsl({body})")
    with pytest.raises(InputError, match="isn't a colour"):
        css.colour(f"hsl({body})")


@pytest.mark.parametrize("name", ["rgb", "hsl", "hwb", "lab", "oklch"])
def test_what_coloraide_refuses_is_refused_and_nothing_else(name):
    """Random numbers, percentages, nones, commas and slashes."""
    words = ["12", "50%", "0.5", "none", "30deg", "1."]
    for _ in range(400):
        parts = [str(RNG.choice(words, p=[0.35, 0.4, 0.1, 0.05, 0.05, 0.05])) for _ in range(3)]
        joins = (
            RNG.choice([" ", ", "], 2) if RNG.random() < 0.5 else [str(RNG.choice([" ", ","]))] * 2
        )
        end = str(RNG.choice(["", " / 1", ", 1", " 1", " / 100%"], p=[0.6, 0.1, 0.1, 0.1, 0.1]))
        text = f"{name}({parts[0]}{joins[0]}{parts[1]}{joins[1]}{parts[2]}{end})"
        try:
            coloraide.Color(text)
        except ValueError:
            with pytest.raises(InputError):
                css.colour(text)
        else:
            css.colour(text)


@pytest.mark.parametrize(
    ("text", "code"),
    [
        # CSS Color 4, examples in sections 4 to 11, as printed there.
        ("hsl(120deg 100% 25%)", (0, 128, 0)),
        ("hwb(150 20% 10%)", (51, 230, 140)),
        ("lab(29.2345% 39.3825 20.0664)", (125, 35, 41)),
        ("oklch(40.1% 0.123 21.57)", (125, 35, 41)),
        ("oklab(59.686% 0.1009 0.1192)", (198, 93, 7)),
        ("lch(52.2345% 72.2 56.2)", (198, 93, 6)),
    ],
)
def test_examples_of_the_specification(text, code):
    got = np.rint(255 * to_srgb(np.clip(css.colour(text), 0, 1)))
    assert np.abs(got - code).max() <= 1


def test_oklab_of_ten_thousand_random_colours_as_coloraide_has_it():
    """Within 1e-4 in OKLab units: both are exact."""
    rgb = RNG.random((10_000, 3))
    got = oklab.from_linear(to_linear(rgb))
    convert = coloraide.Color("srgb", [0, 0, 0])
    want = np.array([convert.new("srgb", c).convert("oklab").coords() for c in rgb.tolist()])
    assert np.sqrt(((got - want) ** 2).sum(-1)).max() < 1e-4
    back = to_srgb(oklab.to_linear(got))
    assert np.abs(back - rgb).max() < 1e-5


@pytest.mark.parametrize(
    ("xyz", "lab"),
    [
        # B. Ottosson, "A perceptual color space for image processing", 2020, table of test pairs.
        ((0.950, 1.000, 1.089), (1.000, 0.000, 0.000)),
        ((1.000, 0.000, 0.000), (0.450, 1.236, -0.019)),
        ((0.000, 1.000, 0.000), (0.922, -0.671, 0.263)),
        ((0.000, 0.000, 1.000), (0.153, -1.415, -0.449)),
    ],
)
def test_published_pairs_of_oklab(xyz, lab):
    rgb = css.colour(f"color(xyz {xyz[0]} {xyz[1]} {xyz[2]})")
    assert oklab.from_linear(rgb) == pytest.approx(lab, abs=1e-3)


def test_polar_form_there_and_back():
    lab = RNG.uniform(-0.3, 0.3, (500, 3))
    assert oklab.from_lch(oklab.to_lch(lab)) == pytest.approx(lab, abs=1e-12)


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("crimsn", 'no colour "crimsn"; did you mean "crimson"'),
        ("#12345", '"#12345" isn.t a colour'),
        ("#gg0000", "isn.t a colour"),
        ("rgb(1 2)", "isn.t a colour"),
        ("rgb(a b c)", "isn.t a colour"),
        ("oklch(0.5 0.1 1e999)", "isn.t a colour"),
        ("lab(50 1e300 0)", "isn.t a colour"),
        ("color(rec9 1 1 1)", 'no colour space "rec9"'),
        ("rgb(1 2 3 / 0.5)", "can't be transparent"),
        ("#11223344", "can't be transparent"),
        ("transparent", "write black for an LED that is off"),
        ("", "isn.t a colour"),
        ("x" * 5000, "isn.t a colour|no colour"),
        ("rgb(" * 500, "isn.t a colour"),
    ],
)
def test_what_is_no_colour_is_said_plainly(text, message):
    with pytest.raises(InputError, match=message):
        css.colour(text)


@pytest.mark.parametrize("thing", [None, 3, ["red"], {"colour": "red"}])
def test_what_is_no_text_is_no_colour(thing):
    with pytest.raises(InputError, match="expected a CSS colour"):
        css.colour(thing)
