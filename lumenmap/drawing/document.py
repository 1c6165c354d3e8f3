"""The content of sheets, in order: written as a PDF file, an HTML page or CSV files."""

from __future__ import annotations

import csv
import io
from dataclasses import dataclass, replace
from typing import Any

from lumenmap.drawing.canvas import Drawing


@dataclass(frozen=True, slots=True)
class Heading:
    """The title of a sheet, or of a part of it; ``new_page`` starts a new sheet."""

    text: str
    new_page: bool = True


@dataclass(frozen=True, slots=True)
class Text:
    """A paragraph; a ``caution`` is framed; ``lead`` is bold text before it."""

    text: str
    caution: bool = False
    lead: str = ""


@dataclass(frozen=True, slots=True)
class Table:
    """Rows under columns.

    Attributes
    ----------
    name
        Of its CSV file, without the ending; tables of the same name share a file.
    columns
        Their headings.
    rows
        Cells, as text.
    right_aligned
        Columns of numbers.
    widths
        Fraction of the page's width for each column; None: by their content.
    csv_only
        Columns that are only in the CSV file, because they say nothing on paper; if all of them
        are, so is the table.
    ticks
        Boxes to tick at the end of each row, by what is then done: ``("cut", "drilled")``. The
        page remembers them for as long as the row says the same.
    """

    name: str
    columns: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    right_aligned: tuple[int, ...] = ()
    widths: tuple[float, ...] | None = None
    csv_only: tuple[int, ...] = ()
    ticks: tuple[str, ...] = ()

    def printed(self) -> Table:
        """Return the table without the columns that are only in the CSV file."""
        kept = [i for i in range(len(self.columns)) if i not in self.csv_only]
        whole = sum(self.widths[i] for i in kept) if self.widths else 1.0
        return replace(
            self,
            columns=tuple(self.columns[i] for i in kept),
            rows=tuple(tuple(row[i] for i in kept) for row in self.rows),
            right_aligned=tuple(k for k, i in enumerate(kept) if i in self.right_aligned),
            widths=tuple(self.widths[i] / whole for i in kept) if self.widths else None,
            csv_only=(),
        )


@dataclass(frozen=True, slots=True)
class Picture:
    """A drawing, as wide as the text; ``full_page``: a page of its own, as it is shaped.

    ``title``: what it shows, for those who don't see it.
    """

    drawing: Drawing
    full_page: bool = False
    title: str = ""


@dataclass(frozen=True, slots=True)
class Tick:
    """One thing to do: what it is called, its figure in large type, and a note."""

    name: str
    figure: str
    note: str = ""


@dataclass(frozen=True, slots=True)
class Ticks:
    """Figures in large type, each with a box to tick; on one page of paper.

    ``title``: what is listed, different in each list of a document; ``again``: what the page's
    button that clears the boxes says.
    """

    title: str
    items: tuple[Tick, ...]
    again: str


Part = Heading | Text | Table | Picture | Ticks


def printed(parts: list[Part]) -> list[Part]:
    """Return a document without what is only in its CSV files."""
    shown = [part.printed() if isinstance(part, Table) else part for part in parts]
    return [part for part in shown if not isinstance(part, Table) or part.columns]


def csv_files(parts: list[Part]) -> dict[str, str]:
    """Return the CSV files of all tables: their text by file name."""
    found: dict[str, list[Table]] = {}
    for part in parts:
        if isinstance(part, Table):
            found.setdefault(part.name, []).append(part)
    return {f"{name}.csv": _csv(tables) for name, tables in found.items()}


def _csv(tables: list[Table]) -> str:
    out = io.StringIO()
    writer: Any = csv.writer(out, lineterminator="\n")
    writer.writerow(tables[0].columns)
    for table in tables:
        writer.writerows(table.rows)
    return out.getvalue()
