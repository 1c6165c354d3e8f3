"""The drill sheet of each kind of rail: every hole, measured from the datum with a tape."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction

from lumenmap.core.units import INCH, show_length
from lumenmap.drawing.canvas import GREY, INK, Anchor, Drawing, TextStyle
from lumenmap.drawing.document import Heading, Part, Picture, Table, Text
from lumenmap.house.choices import Unit
from lumenmap.parts.cautions import BENCH
from lumenmap.sheets.rails.cutting import decimal, numbers
from lumenmap.sheets.rails.families import families
from lumenmap.sheets.rails.rails import Pattern, PlacedRail
from lumenmap.sheets.rails.tape import divisions, inches, nearest, stepped

#: A check at every so many holes is worth a sentence only if it is at most this.
MAX_CHECK_STEP = 20
#: Marks from coarse to fine that all holes may be on, by whether the house is in inches.
MARKS = {
    True: [
        ("inch", INCH),
        ("half inch", INCH / 2),
        ("quarter inch", INCH / 4),
        ("eighth of an inch", INCH / 8),
        ("sixteenth of an inch", INCH / 16),
    ],
    False: [
        ("centimetre", Fraction(1, 100)),
        ("half centimetre", Fraction(1, 200)),
        ("millimetre", Fraction(1, 1000)),
    ],
}


def drill_sheets(placed: list[PlacedRail], unit: Unit) -> Iterator[Part]:
    """Yield a sheet for each family of rails."""
    for family in families(placed):
        p = family.leader
        yield Heading(f"Drill sheet: {family.name}")
        yield Text(BENCH, caution=True)
        yield Text(
            f"Holes {decimal(p.spacing, unit)} apart, the first {decimal(p.first, unit)} from the "
            "datum end. Measure every hole from the datum end without moving the tape, so that "
            f"errors don't add up. {_marks(p, unit)}{_check(p, unit)}"
        )
        rows = tuple(
            (
                kind,
                str(len(rails)),
                numbers(list(rails)),
                show_length(shape.length, unit),
                decimal(shape.length, unit),
                f"1 to {shape.count}",
            )
            for kind, rails in family.kinds.items()
            for shape in [rails[0].pattern]
        )
        yield Table(
            "drill-kinds",
            ("rail", "how many", "numbers", "cut to", "exactly", "holes"),
            rows,
            right_aligned=(1,),
        )
        yield Picture(_sketch(p, unit))
        yield _table(next(iter(family.kinds)), p, unit)


def _exact(p: Pattern, unit: Unit) -> int | None:
    """Return the index of the coarsest tape with a mark at every hole, if there is one."""
    tapes = [d for _, d in divisions(unit)]
    fits = (i for i, d in enumerate(tapes) if not p.first % d and not p.spacing % d)
    return next(fits, None)


def _marks(p: Pattern, unit: Unit) -> str:
    """Return how the holes fall on the tape's marks, and what the last columns are for."""
    exact = _exact(p, unit)
    if exact == 0:
        marks = MARKS[unit in ("ft", "in")]
        on = next(n for n, d in marks if not p.first % d and not p.spacing % d)
        return f"Every hole is on a whole {on} mark, so there are no errors to list."
    drift = (
        "The last columns show how far off each hole would be if you measured from hole to hole."
    )
    if exact is None:
        return drift
    return f"{drift} On a tape with {divisions(unit)[exact][0]} marks every hole is exact."


def _check(p: Pattern, unit: Unit) -> str:
    """Return how often the spacing adds up to a round figure, as a check against the tape."""
    whole, name = (INCH, "in") if unit in ("ft", "in") else (Fraction(1, 100), "cm")
    every = (p.spacing / whole).denominator
    if every > min(MAX_CHECK_STEP, p.count - 1):
        return ""
    which = "step" if every == 1 else f"{_nth(every)} step"
    return f" To check: every {which} is exactly {p.spacing * every / whole} {name}."


def _nth(n: int) -> str:
    ending = "th" if 10 <= n % 100 <= 20 else {1: "st", 2: "nd", 3: "rd"}.get(n % 10, "th")
    return f"{n}{ending}"


def _table(kind: str, p: Pattern, unit: Unit) -> Table:
    feet = unit in ("ft", "in")
    scale, digits = (INCH, 3) if feet else (Fraction(1, 1000), 2)
    tapes = divisions(unit)
    columns = ["rail", "hole", f"from datum, {'in' if feet else 'mm'}"]
    for name, _ in tapes:
        columns += [f"at {name}", "error"]
    drifts = tapes[:2]
    columns += [f"drift in {name} steps" for name, _ in drifts]
    rows = []
    for k, place in enumerate(p.holes()):
        row = [kind, str(k + 1), f"{float(place / scale):.{digits}f}"]
        for _, division in tapes:
            mark = nearest(place, division)
            shown = (
                inches(mark.mark, int(INCH / division)) if feet else f"{float(mark.mark * 1000):g}"
            )
            row += [shown, _signed(mark.error / scale, digits)]
        row += [_signed(stepped(p.first, p.spacing, k, d) / scale, digits) for _, d in drifts]
        rows.append(tuple(row))
    exact = _exact(p, unit)
    hide: tuple[int, ...] = ()
    if exact is not None:
        # Hide the errors and drifts of the exact tape, and everything of finer ones.
        last = 3 + 2 * len(tapes)
        hide = (*range(4 + 2 * exact, last), *range(last + exact, len(columns)))
    rest = (1 - 0.13) / (len(columns) - 2)
    return Table(
        "drill-sheet",
        tuple(columns),
        tuple(rows),
        tuple(range(1, len(columns))),
        (0.06, 0.07, *[rest] * (len(columns) - 2)),
        hide,
    )


def _signed(value: Fraction, digits: int) -> str:
    text = f"{float(value):+.{digits}f}"
    return text if value else text[1:]


def _sketch(p: Pattern, unit: Unit) -> Drawing:
    """Draw the rail, not to scale: its datum end, its holes, and dimensions of first and last."""
    wide, y = 180.0, 14.0
    page = Drawing(wide, 30.0)
    left, right = 12.0, wide - 8.0
    scale = (right - left) / float(p.length)
    page.area([(left, y - 3), (right, y - 3), (right, y + 3), (left, y + 3)], "#f2f4f6", INK, 0.3)
    page.line([(left, y - 6), (left, y + 6)], "#c4161c", 0.8)
    page.arrow((left, y), (1, 0), 4, "#c4161c")
    page.text((left, y - 7.5), "datum end", TextStyle(2.6, "middle", "#c4161c", bold=True))
    for k, place in enumerate(p.holes()):
        x = left + float(place) * scale
        page.dot((x, y), min(1.1, 0.35 * float(p.spacing) * scale), "#ffffff", INK, 0.2)
        if k in (0, p.count - 1) or (k + 1) % 10 == 0:
            page.text((x, y - 4.2), str(k + 1), TextStyle(2.2, "middle", GREY))
    if p.count:
        last = p.holes()[-1]
        for place, drop in ((p.first, 8.0), (last, 12.5)):
            x = left + float(place) * scale
            page.line([(left, y + drop), (x, y + drop)], GREY, 0.2)
            page.line([(x, y + 3), (x, y + drop)], GREY, 0.2)
            anchor: Anchor = "start" if x < wide / 2 else "end"
            shift = 1.0 if anchor == "start" else -1.0
            style = TextStyle(2.4, anchor, halo=True)
            page.text((x + shift, y + drop - 0.7), decimal(place, unit), style)
    return page
