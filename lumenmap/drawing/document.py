"""What the sheets hold, in order, before it is put on paper, on a page or in a table file."""

from __future__ import annotations

import csv
import io
from dataclasses import dataclass, replace
from typing import Any

from lumenmap.drawing.canvas import Drawing


@dataclass(frozen=True, slots=True)
class Heading:
    """The title of a sheet, or of a part of it; ``new_page`` starts a sheet."""

    text: str
    new_page: bool = True


@dataclass(frozen=True, slots=True)
class Text:
    """A paragraph; ``caution``: framed; ``lead``: bold words before it."""

    text: str
    caution: bool = False
    lead: str = ""


@dataclass(frozen=True, slots=True)
class Table:
    """Rows under columns.

    Attributes
    ----------
    name
        Of its CSV file, without the ending; tables of one name go into one file.
    columns
        Their headings.
    rows
        Cells, as they are to be read.
    numbers
        Columns that stand to the right.
    wide
        Share of the page's width of each column; None: by what is in them.
    hide
        Columns that only the CSV file holds, since on paper they would say nothing.
    """

    name: str
    columns: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    numbers: tuple[int, ...] = ()
    wide: tuple[float, ...] | None = None
    hide: tuple[int, ...] = ()

    def printed(self) -> Table:
        """Return the table as it stands on paper."""
        kept = [i for i in range(len(self.columns)) if i not in self.hide]
        return replace(
            self,
            columns=tuple(self.columns[i] for i in kept),
            rows=tuple(tuple(row[i] for i in kept) for row in self.rows),
            numbers=tuple(k for k, i in enumerate(kept) if i in self.numbers),
            wide=tuple(self.wide[i] for i in kept) if self.wide else None,
            hide=(),
        )


@dataclass(frozen=True, slots=True)
class Picture:
    """A drawing, as wide as the page lets it be; ``whole``: a page of its own, lying."""

    drawing: Drawing
    whole: bool = False


Part = Heading | Text | Table | Picture


def csv_files(parts: list[Part]) -> dict[str, str]:
    """Return the text of each table's CSV file by its name."""
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
