"""Writing a drawing to a file, in the format of its name."""

from __future__ import annotations

from pathlib import Path

from lumenmap.core.files import check_ending, whole_file, write_whole
from lumenmap.drawing.canvas import Drawing
from lumenmap.drawing.pdf import pdf
from lumenmap.drawing.png import png
from lumenmap.drawing.svg import svg


def write_drawing(page: Drawing, path: Path, title: str) -> None:
    """Write a drawing as SVG, PNG or PDF; ``title`` of the PDF file.

    Raises
    ------
    InputError
        A file name of another kind, a file that can't be written, or a missing PDF library.
    """
    check_ending(path, ".svg", ".png", ".pdf")
    kind = path.suffix.lower()
    if kind == ".svg":
        write_whole(path, svg(page))
        return
    with whole_file(path) as temporary:
        if kind == ".png":
            png(page, temporary)
        else:
            pdf([page], temporary, title)
