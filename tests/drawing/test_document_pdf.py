"""A document as PDF: what belongs together is on one page."""

import pytest

from lumenmap.drawing.canvas import Drawing
from lumenmap.drawing.document import Heading, Picture, Table, Text
from lumenmap.drawing.document_pdf import pdf_document
from tests.drawing.paper import words


@pytest.mark.parametrize("before", range(30, 46))
def test_what_announces_a_table_stays_with_it(tmp_path, before):
    """At the foot of a page "The usual remedies:" stood alone, its table on the next page."""
    filler = [Text(f"Line {n}.") for n in range(before)]
    table = Table("t", ("column",), (("cell",),))
    parts = [*filler, Text("Announced:"), table]
    pdf_document(parts, tmp_path / "a.pdf", (210, 297), "Test")
    (page,) = [text for text in words(tmp_path / "a.pdf") if "Announced" in text]
    assert "column" in page and "cell" in page


PICTURE = Picture(Drawing(297, 210), full_page=True)


@pytest.mark.parametrize(
    "after", [[], [Heading("Next")], [PICTURE]], ids=["end", "sheet", "drawing"]
)
def test_no_page_is_empty_below_a_table_that_fills_its_page(tmp_path, after):
    """Below such a table of bare ends was a page with nothing on it but its foot.

    A row is 4.7 mm high: one of these tables ends within 3 mm of the foot of its page.
    """
    for lines in range(1, 4):
        for rows in range(50, 57):
            table = Table("t", ("column",), (("cell",),) * rows)
            parts = [*[Text(f"Line {n}.") for n in range(lines)], table, *after]
            pdf_document(parts, tmp_path / "a.pdf", (210, 297), "Test")
            pages = words(tmp_path / "a.pdf")
            pages = pages[:-1] if after else pages
            assert all("cell" in page for page in pages), (lines, rows)
