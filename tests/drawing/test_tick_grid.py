"""Boxes to tick on paper: all of them, inside the room, as large as it allows."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from lumenmap.drawing.canvas import Drawing, TextLine
from lumenmap.drawing.document import Heading, Picture, Tick, Ticks
from lumenmap.drawing.document_pdf import pdf_document
from lumenmap.drawing.tick_grid import LARGE, figure_size, tick_grid
from tests.drawing.paper import words

HELVETICA = "Helvetica-Bold"


def ticks(count, figure="143 13/16"):
    notes = {count: "last of A, C"}
    items = (Tick(str(k), figure, notes.get(k, "")) for k in range(1, count + 1))
    return Ticks("holes", tuple(items), "again")


@given(st.integers(1, 150), st.floats(60, 250), st.sampled_from(["7", "143 13/16", "2979.5"]))
def test_every_box_is_in_the_room_and_its_figures_in_its_column(count, high, figure):
    """By the widths that Helvetica has (Adobe's metrics, as reportlab carries them)."""
    metrics = pytest.importorskip("reportlab.pdfbase.pdfmetrics")
    page = tick_grid(ticks(count, figure), 186.0, high)
    assert page.width == 186 and page.height <= high + 1e-9
    texts = [m for m in page.marks if isinstance(m, TextLine)]
    figures = [t for t in texts if t.style.bold]
    assert len(figures) == count and len(texts) == 2 * count + 1
    starts = sorted({round(t.at[0], 6) for t in figures})
    for t in texts:
        assert 0 < t.at[1] < page.height
    for t in figures:
        end = t.at[0] + metrics.stringWidth(t.text, HELVETICA, t.style.size)
        assert end <= min([s for s in starts if s > t.at[0] + 1e-6] or [186.0])


def test_figures_are_as_large_as_the_room_allows():
    """48 holes of a rail of 12 ft: large in half a page; fewer are no larger than they need be."""
    assert figure_size(ticks(48), 186, 150) > LARGE
    assert figure_size(ticks(48), 186, 150) > figure_size(ticks(96), 186, 150)
    assert figure_size(ticks(3), 186, 150) == figure_size(ticks(4), 186, 150) < 8


def test_boxes_that_would_be_small_take_the_next_page(tmp_path):
    """A drawing that leaves 60 mm of the page, then 100 holes."""
    tall = Picture(Drawing(186, 170))
    file = tmp_path / "a.pdf"
    pdf_document([Heading("Drill"), tall, ticks(100, "5 1/2")], file, (216, 279), "t")
    pages = words(file)
    assert len(pages) == 2 and "5 1/2" not in pages[0] and pages[1].count("5 1/2") == 100
    pdf_document([Heading("Drill"), tall, ticks(9, "5 1/2")], file, (216, 279), "t")
    assert len(words(file)) == 1
