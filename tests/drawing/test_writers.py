"""One drawing, three writers: Pillow's PNG and PDFium's view of the PDF show the same places."""

from xml.etree import ElementTree

import numpy as np
import pytest
from PIL import Image

from lumenmap.drawing.canvas import Drawing, TextStyle
from lumenmap.drawing.pdf import pdf
from lumenmap.drawing.png import _font, png
from lumenmap.drawing.svg import svg
from tests.drawing.paper import rasterise, words

DPI = 150
SVG = "{http://www.w3.org/2000/svg}"


def page(*kinds):
    drawing = Drawing(100, 60)
    if "dot" in kinds:
        drawing.dot((20, 15), 4, fill="#000000")
    if "area" in kinds:
        drawing.area([(60, 10), (80, 10), (60, 40)], "#000000")
    if "line" in kinds:
        drawing.line([(10, 50), (90, 50)], "#000000", 1.0)
    if "words" in kinds:
        drawing.text((50, 30), "Rail 7 & 8", TextStyle(4.0, "middle"))
    return drawing


def middle_of_ink(grey):
    """Where the ink's centre of mass lies (mm from the top left), and how much there is (mm²)."""
    ink = 1 - grey.astype(float) / 255
    y, x = np.indices(ink.shape) + 0.5
    mm = 25.4 / DPI
    return (ink * x).sum() / ink.sum() * mm, (ink * y).sum() / ink.sum() * mm, ink.sum() * mm * mm


@pytest.mark.parametrize(
    ("kind", "x", "y", "amount"),
    [
        ("dot", 20, 15, np.pi * 16),
        ("area", 60 + 20 / 3, 20, 300),  # a triangle's centre is the mean of its corners
        ("line", 50, 50, 80),
    ],
)
def test_marks_lie_where_they_were_drawn(tmp_path, kind, x, y, amount):
    png(page(kind), tmp_path / "a.png", DPI)
    pdf([page(kind)], tmp_path / "a.pdf", "t")
    with Image.open(tmp_path / "a.png") as image:
        pictures = [np.asarray(image.convert("L")), next(rasterise(tmp_path / "a.pdf", DPI))]
    for grey in pictures:
        assert grey.shape == pytest.approx((60 / 25.4 * DPI, 100 / 25.4 * DPI), abs=1)
        got = middle_of_ink(grey)
        assert got[:2] == pytest.approx((x, y), abs=0.15)
        assert got[2] == pytest.approx(amount, rel=0.05)


def test_words_are_words_in_all_three(tmp_path):
    pdf([page("words")], tmp_path / "a.pdf", "t")
    assert words(tmp_path / "a.pdf")[0].strip() == "Rail 7 & 8"
    (text,) = ElementTree.fromstring(svg(page("words"))).iter(f"{SVG}text")
    assert text.text == "Rail 7 & 8"
    assert (text.get("x"), text.get("y"), text.get("text-anchor")) == ("50", "30", "middle")
    png(page("words"), tmp_path / "a.png", DPI)
    with Image.open(tmp_path / "a.png") as image:
        grey = np.asarray(image.convert("L"))
    x, y, _ = middle_of_ink(grey)
    assert x == pytest.approx(50, abs=0.5), "its middle"
    assert 26 < y < 30, "above its baseline"


def test_svg_says_the_same_places():
    root = ElementTree.fromstring(svg(page("dot", "area", "line")))
    (dot,) = root.iter(f"{SVG}circle")
    assert [dot.get(k) for k in ("cx", "cy", "r")] == ["20", "15", "4"]
    (area,) = root.iter(f"{SVG}polygon")
    assert area.get("points") == "60,10 80,10 60,40"
    (line,) = root.iter(f"{SVG}polyline")
    assert line.get("points") == "10,50 90,50"
    assert root.get("width") == "100mm" and root.get("viewBox") == "0 0 100 60"


def test_letters_that_the_library_s_own_font_lacks_are_drawn():
    """A pound sign and é are themselves, not the box that stands for what is missing."""
    font = _font(20, plain=False)
    if font.getname()[0] == _font(20).getname()[0]:
        pytest.skip("none of the wider fonts is installed here")
    missing = bytes(font.getmask("\u0378"))
    assert all(bytes(font.getmask(letter)) != missing for letter in "£éø€")
