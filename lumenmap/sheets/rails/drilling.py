"""The drill sheet of each family of rails: every hole as it reads on the owner's tape."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction

from lumenmap.core.lengths import show_length
from lumenmap.core.units import INCH
from lumenmap.drawing.canvas import GREY, INK, Anchor, Drawing, TextStyle
from lumenmap.drawing.document import Heading, Part, Picture, Table, Text, Tick, Ticks
from lumenmap.house.choices import Tape, Unit
from lumenmap.house.rails import Bench
from lumenmap.parts.cautions import BENCH
from lumenmap.sheets.rails.cutting import decimal, numbers
from lumenmap.sheets.rails.families import Family, families
from lumenmap.sheets.rails.rails import Pattern, PlacedRail
from lumenmap.sheets.rails.tape import division, nearest, show_mark, stepped, unit_of

#: A check at every so many holes is worth a sentence only if it is at most this.
MAX_CHECK_STEP = 20


def drill_sheets(placed: list[PlacedRail], unit: Unit, bench: Bench) -> Iterator[Part]:
    """Yield a sheet for each family of rails: one page, in the marks of the owner's tape."""
    for family in families(placed):
        p, tape = family.leader, bench.tape
        yield Heading(f"Drill sheet: {family.name}")
        yield Text(BENCH, caution=True)
        bit = f" Bit: {_bit(bench.bit, unit)}." if bench.bit is not None else ""
        yield Text(
            f"Figures are {'inches' if tape.endswith('in') else 'millimetres'} from the datum end, "
            f"on a tape with {tape} marks. Measure every hole from the datum end without moving "
            f"the tape. {_off(p, tape)}{_check(p, unit)}{bit}"
        )
        yield _kinds(family, unit)
        yield Picture(_sketch(p, unit), title=f"{family.name}: datum end, first and last hole")
        yield _ticks(family, tape)
        yield _table(family, tape)


def _bit(bit: Fraction, unit: Unit) -> str:
    """Format the bit's diameter: in sixty-fourths of an inch if it is one of them."""
    if unit in ("ft", "in") and not bit % (INCH / 64):
        return f"{show_mark(bit, '1/64 in')} in"
    return f"{float(bit * 1000):g} mm"


def _kinds(family: Family, unit: Unit) -> Table:
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
    columns = ("rail kind", "how many", "rail numbers", "cut to", "exact length", "hole numbers")
    return Table("drill-kinds", columns, rows, right_aligned=(1,))


def _off(p: Pattern, tape: Tape) -> str:
    """Say how far off the worst hole is on a tape, and how much errors of steps add up to."""
    each = division(tape)
    errors = [abs(nearest(place, each).error) for place in p.holes()]
    worst = max(errors)
    if not worst:
        text = "Every hole is exactly on a mark."
    else:
        text = f"The worst hole, {errors.index(worst) + 1}, is {_small(worst, tape)} off."
    drift = abs(stepped(p.first, p.spacing, p.count - 1, each))
    if drift > each:
        text += f" If you measured from hole to hole, the last would be {_small(drift, tape)} off."
    return text


def _small(error: Fraction, tape: Tape) -> str:
    """Format an error in the tape's unit."""
    feet = tape.endswith("in")
    return f"{float(error / unit_of(tape)):.{3 if feet else 2}f} {'in' if feet else 'mm'}"


def _check(p: Pattern, unit: Unit) -> str:
    """Return how often the spacing adds up to a round figure, as a check against the tape."""
    feet = unit in ("ft", "in")
    whole = INCH if feet else Fraction(1, 100)
    every = (p.spacing / whole).denominator
    if every > min(MAX_CHECK_STEP, p.count - 1):
        return ""
    which = "step" if every == 1 else f"{_nth(every)} step"
    adds = p.spacing * every / INCH if feet else p.spacing * every * 1000  # mm, as the figures are
    return f" To check: every {which} is exactly {adds} {'in' if feet else 'mm'}."


def _nth(n: int) -> str:
    ending = "th" if 10 <= n % 100 <= 20 else {1: "st", 2: "nd", 3: "rd"}.get(n % 10, "th")
    return f"{n}{ending}"


def _ticks(family: Family, tape: Tape) -> Ticks:
    """Return the holes of the longest rail, with a note where a shorter one has its last."""
    p = family.leader
    ends: dict[int, list[str]] = {}
    for kind in family.kinds:
        ends.setdefault(family.pattern(kind).count, []).append(kind)
    notes = {k: f"last of {', '.join(sorted(kinds))}" for k, kinds in ends.items()}
    holes = enumerate(p.holes(), 1)
    return Ticks(
        f"holes of {family.name}",
        tuple(Tick(str(k), show_mark(at, tape), notes.get(k, "")) for k, at in holes),
        "Clear for the next rail",
    )


def _table(family: Family, tape: Tape) -> Table:
    """Return the exact figures, for the CSV file only."""
    feet = tape.endswith("in")
    unit, digits = ("in", 3) if feet else ("mm", 2)
    kind, p = next(iter(family.kinds)), family.leader
    rows = []
    for k, place in enumerate(p.holes(), 1):
        error = nearest(place, division(tape)).error
        off = f"{float(error / unit_of(tape)):+.{digits}f}" if error else f"{0:.{digits}f}"
        exact = f"{float(place / unit_of(tape)):.{digits}f}"
        rows.append((kind, str(k), exact, show_mark(place, tape), off))
    columns = ("rail kind", "hole", f"exact, {unit}", f"mark on a {tape} tape", f"error, {unit}")
    return Table("drill-sheet", columns, tuple(rows), csv_only=tuple(range(len(columns))))


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
