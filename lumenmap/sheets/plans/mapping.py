"""`Mapping`: the pixel map as a table, as CSV or JSON, and as a picture."""

from __future__ import annotations

import csv
import io
import json
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from lumenmap.core.errors import InputError
from lumenmap.core.lengths import show_fine, show_length, show_written
from lumenmap.core.units import LENGTH
from lumenmap.core.wording import some
from lumenmap.drawing.write import write_drawing
from lumenmap.pixels.line_layout import LineLayout, RunLayout
from lumenmap.pixels.places import Places
from lumenmap.pixels.walk import Walk
from lumenmap.routes.route import AROUND
from lumenmap.sheets.plans.elevations import elevations
from lumenmap.site import Site

COLUMNS = (
    "line",
    "number",
    "edge",
    "kind",
    "lit",
    "along_edge",
    "along_line",
    "x",
    "y",
    "z",
    "facing_x",
    "facing_y",
    "facing_z",
)


@dataclass(frozen=True, slots=True, eq=False)
class Mapping:
    """A site's pixel map, for people and programs."""

    site: Site

    def rows(self) -> Iterator[tuple[Any, ...]]:
        """Yield a row for each pixel in wiring order: `COLUMNS`, lengths in the house's unit."""
        p, house = self.site.pixels, self.site.house
        unit = float(LENGTH[house.unit])
        for span in p.lines:
            for k in range(span.first, span.first + span.count):
                name = p.edge_names[p.edge[k]] if p.edge[k] >= 0 else ""
                lengths = (p.along_edge[k], p.along_line[k], *p.xyz[k])
                yield (
                    span.name,
                    k - span.first + 1,
                    name,
                    house.edges[name].kind if name else "",
                    bool(p.lit[k]),
                    *(round(float(v) / unit, 6) for v in lengths),
                    *(round(float(v), 6) for v in p.facing[k]),
                )

    def csv(self) -> str:
        """Return the rows as CSV text; the first row has the names of the columns and the unit."""
        out = io.StringIO()
        writer = csv.writer(out, lineterminator="\n")
        unit = self.site.house.unit
        lengths = COLUMNS[5:10]
        writer.writerow([f"{c}_{unit}" if c in lengths else c for c in COLUMNS])
        writer.writerows(self.rows())
        return out.getvalue()

    def json(self) -> str:
        """Return everything as JSON text, lengths in the house's unit."""
        content = {
            "house": self.site.house.name,
            "unit": self.site.house.unit,
            "pixels": len(self.site.pixels),
            "lines": [
                {
                    "name": s.name,
                    "first": s.first,
                    "count": s.count,
                    "universe": s.universe,
                    "order": s.order,
                    "wire": round(s.length / float(LENGTH[self.site.house.unit]), 6),
                }
                for s in self.site.pixels.lines
            ],
            "runs": [
                self._run(layout, run) for layout in self.site.line_layouts for run in layout.runs
            ],
            "groups": {n: int(m.sum()) for n, m in self.site.pixels.groups.items()},
            "routes": {
                name: {
                    "length": round(walk.length / float(LENGTH[self.site.house.unit]), 6),
                    "edges": [
                        f"{p.edge} reversed" if p.reversed else p.edge for p in walk.passages
                    ],
                }
                for name, walk in self._walks().items()
            },
            "notes": list(self.site.pixels.notes),
            "map": [dict(zip(COLUMNS, row, strict=True)) for row in self.rows()],
        }
        return json.dumps(content, indent=1)

    def _run(self, layout: LineLayout, run: RunLayout) -> dict[str, Any]:
        edge_layout, unit = layout.edge_layouts[run.item.edge], float(LENGTH[self.site.house.unit])
        return {
            "line": layout.line.name,
            "edge": run.item.edge,
            "kind": edge_layout.edge.kind,
            "reversed": run.item.reversed,
            "first": run.first + 1,
            "count": run.count,
            "length": round(abs(run.leave - run.enter) / unit, 6),
            "spacing": round(float(edge_layout.pieces[0].holes.spacing) / unit, 6),
            "jumper": round(run.jumper / unit, 6),
        }

    def table(self, width: int | None = None) -> list[str]:
        """Return the map in lines for people: each run of each line, then notes.

        Where the table is wider than ``width`` letters, each run takes two lines.
        """
        unit = self.site.house.unit
        rows = list(self._rows_of_runs())
        wide = [max(len(row[c]) for row in rows) for c in range(len(rows[0]))]
        right = (4, 5)
        shown = [
            "  ".join(
                cell.rjust(w) if c in right else cell.ljust(w)
                for c, (cell, w) in enumerate(zip(row, wide, strict=True))
            ).rstrip()
            for row in rows
        ]
        if width is not None and max(map(len, shown)) > width:
            shown = [text for row in rows[1:] for text in _narrow(row)]
        dark = int((~self.site.pixels.lit).sum())
        lines = f"{len(self.site.line_layouts)} line" + (
            "s" if len(self.site.line_layouts) > 1 else ""
        )
        shown += [
            "",
            f"{some(len(self.site.pixels), 'pixel')} on {lines}"
            + (f", {dark} of them dark" if dark else ""),
        ]
        shown += [
            f"  group {n}: {some(int(m.sum()), 'pixel')}"
            for n, m in self.site.pixels.groups.items()
        ]
        shown += [
            f"  route {name}: {show_length(walk.length, unit)}, {some(int(walk.on.sum()), 'pixel')}"
            for name, walk in self._walks().items()
        ]
        shown += [f"  NOTE: {note}" for note in self.site.pixels.notes]
        return shown

    def _rows_of_runs(self) -> Iterator[tuple[str, ...]]:
        """Yield the headings of the table, then a row for each run."""
        unit = self.site.house.unit
        yield ("line", "edge", "kind", "length", "pixels", "every", "numbers", "jumper before")
        for layout in self.site.line_layouts:
            for run in layout.runs:
                edge_layout = layout.edge_layouts[run.item.edge]
                suffix = " reversed" if run.item.reversed else ""
                last = run.first + run.count
                yield (
                    layout.line.name,
                    run.item.edge + suffix,
                    edge_layout.edge.kind,
                    show_length(abs(run.leave - run.enter), unit),
                    f"{run.count:,}",
                    show_fine(edge_layout.pieces[0].holes.spacing, unit),
                    f"{run.first + 1}-{last}" if run.count else "none",
                    show_written(run.jumper, unit) if run.jumper else "",
                )

    def _walks(self) -> dict[str, Walk]:
        """Return the way round the house and the house's routes, as a show may follow them."""
        places = Places(self.site.pixels, self.site.house)
        routes = {"round": AROUND["round"], **self.site.house.routes}
        try:
            return {name: places.walk(route) for name, route in routes.items()}
        except InputError as error:
            raise error.at(file=self.site.house.file) from None

    def draw(self, path: Path) -> None:
        """Write the picture as SVG, PNG or PDF, by the file's name.

        Raises
        ------
        InputError
            As `write_drawing`.
        """
        write_drawing(elevations(self.site), path, f"{self.site.house.name}: pixel map")


def _narrow(row: tuple[str, ...]) -> Iterator[str]:
    """Yield two lines for a row of the table."""
    line, edge, kind, length, pixels, every, which, jumper = row
    yield f"{line}: {edge} ({kind})" + (f", after a jumper of {jumper}" if jumper else "")
    yield f"  {length}, {pixels} {'pixel' if pixels == '1' else 'pixels'} every {every}, {which}"


def mapping(house: Path | str) -> Mapping:
    """Read a house file and return its pixel map.

    Raises
    ------
    InputError
        Anything wrong in the file.
    """
    return Mapping(Site.read(house))
