"""A document as PDF: what belongs together is on one page."""

import pytest

from lumenmap.drawing.document import Table, Text
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
