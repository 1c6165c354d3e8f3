"""A line plot: every point of a curve is where the axes' ticks say, and nothing leaves its panel."""

import numpy as np
import pytest
from PIL import ImageFont

from lumenmap.drawing.canvas import PALE, Stroke, TextLine
from lumenmap.drawing.plot import COLOURS, HEIGHT, WIDTH, Curve, Panel, line_plot


def panel(*names, limit=7.0):
    x = np.array([0.0, 3.0, 10.0])
    curves = [Curve(name, x, np.array([1.0, 2.5 + i, 6.0])) for i, name in enumerate(names)]
    curves.append(Curve("limit: 7 A", np.array([0.0, 10.0]), np.full(2, limit), limit=True))
    return Panel("Amps & volts", "s", "A", curves, (0.0, 8.0))


def strokes(page, colour):
    return [m for m in page.marks if isinstance(m, Stroke) and m.colour == colour]


def texts(page):
    return {m.text: m for m in page.marks if isinstance(m, TextLine)}


def test_a_curve_is_where_the_ticks_say():
    page = line_plot([panel("one")])
    grid = {round(m.points[0][1], 6) for m in strokes(page, PALE)}
    named = texts(page)
    assert {f"{v} A" for v in (0, 2, 4, 6, 8)} <= set(named)
    zero, eight = max(grid), min(grid)
    left, right = (named[t].at[0] for t in ("0", "10"))
    curve = next(s for s in strokes(page, COLOURS[0]) if len(s.points) == 3)
    expected = [
        (left + x / 10 * (right - left), zero + y / 8 * (eight - zero))
        for x, y in ((0, 1), (3, 2.5), (10, 6))
    ]
    assert curve.points == pytest.approx(np.array(expected))
    (limit,) = [m for m in page.marks if isinstance(m, Stroke) and m.dash]
    assert [y for _, y in limit.points] == pytest.approx([zero + 7 / 8 * (eight - zero)] * 2)
    name = named["limit: 7 A"]
    assert name.style.anchor == "end" and name.at[1] < limit.points[0][1], "above its line"


def test_panels_are_below_each_other_and_keep_to_themselves():
    page = line_plot([panel("one"), panel("one", "two")])
    assert (page.width, page.height) == (WIDTH, 2 * HEIGHT)
    second = [m for m in page.marks if isinstance(m, TextLine) and m.text == "Amps & volts"][1]
    where = page.marks.index(second)
    for part, low, high in ((page.marks[:where], 0, HEIGHT), (page.marks[where:], HEIGHT, 192)):
        ys = [m.at[1] if isinstance(m, TextLine) else m.points[0][1] for m in part]
        assert low < min(ys) and max(ys) < high


def test_a_long_legend_takes_more_rows_and_leaves_the_curves_free():
    names = [f"a case with quite a long name, number {i}" for i in range(5)]
    page = line_plot([panel(*names)])
    named = texts(page)
    rows = sorted({named[n].at[1] for n in names})
    assert len(rows) > 1
    assert max(named[n].at[0] for n in names) < WIDTH
    top = min(m.points[0][1] for m in strokes(page, PALE))
    assert max(rows) < top
    samples = [s for c in COLOURS[:5] for s in strokes(page, c) if len(s.points) == 2]
    assert len(samples) == 5


def test_one_moment_is_drawn_too():
    page = line_plot([Panel("x", "s", "A", [Curve("c", np.zeros(1), np.ones(1))], (0.0, 2.0))])
    points = [p for m in page.marks if isinstance(m, Stroke) for p in m.points]
    assert np.isfinite(points).all()


@pytest.mark.parametrize("font", ["DejaVuSans.ttf"])
@pytest.mark.parametrize("many", [1, 3, 9])
def test_legends_and_titles_stay_inside_in_the_fonts_of_browsers(font, many):
    """By the fonts' own metrics; DejaVu Sans, the widest in use, stands in where Helvetica isn't."""
    try:
        bold = font.replace("-Regular", "").replace(".ttf", "-Bold.ttf")
        fonts = {False: ImageFont.truetype(font, 100), True: ImageFont.truetype(bold, 100)}
    except OSError:
        pytest.skip(f"{font} isn't installed")
    names = [
        f'White in "{"A Long Winter Evening with Candles " * (1 + 2 * i)}"' for i in range(many)
    ]
    plot = Panel(
        "Voltage along a line that has a long name " * 9, "s", "A", panel(*names).curves, (0, 8)
    )
    for mark in line_plot([plot]).marks:
        if isinstance(mark, TextLine) and mark.style.anchor == "start":
            wide = fonts[mark.style.bold].getlength(mark.text) * mark.style.size / 100
            assert mark.at[0] + wide <= WIDTH, mark.text
