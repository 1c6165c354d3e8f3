"""`Book`: all sheets of a house, in the order of the work."""

from __future__ import annotations

from dataclasses import dataclass

from lumenmap.core.lengths import show_fine, show_written
from lumenmap.core.wording import some
from lumenmap.drawing.canvas import Drawing
from lumenmap.drawing.document import Heading, Part, Picture, Table, Text
from lumenmap.drawing.document_pdf import MARGIN
from lumenmap.parts.cautions import BENCH, cautions
from lumenmap.sheets.board_sheet import board_sheet
from lumenmap.sheets.buying import bill, items
from lumenmap.sheets.fuse_check import PowerCheck, check_power
from lumenmap.sheets.plans.elevations import one_by_one
from lumenmap.sheets.plans.hanging import hanging_drawings
from lumenmap.sheets.power_sheet import assumed, power_sheet
from lumenmap.sheets.rails.cutting import cut_list, hanging
from lumenmap.sheets.rails.drilling import drill_sheets
from lumenmap.sheets.rails.families import by_letter
from lumenmap.sheets.rails.program import settings
from lumenmap.sheets.rails.rails import PlacedRail, rails
from lumenmap.sheets.rails.stock import Bar, cut
from lumenmap.sheets.rails.tape import inches
from lumenmap.sheets.wires.diagram import diagram
from lumenmap.sheets.wiring_sheet import TITLE, label_sheet, wiring_sheet
from lumenmap.site import Site


@dataclass(frozen=True, slots=True, eq=False)
class Book:
    """The parts of the sheets, and the rails, stock, fuses and wires that they describe."""

    parts: list[Part]
    placed: list[PlacedRail]
    bars: list[Bar]
    power: PowerCheck
    diagram: Drawing


def book(site: Site, paper: tuple[float, float]) -> Book:
    """Return the sheets of a house; ``paper`` mm, upright.

    Raises
    ------
    InputError
        A drilling machine that can't reach a hole, or a price of something that isn't needed.
    """
    house, line_layouts = site.house, site.line_layouts
    placed = rails(line_layouts)
    bars = cut(placed, house.rail.length, house.rail.kerf)
    power = check_power(site)
    parts: list[Part] = [Heading(house.name, new_page=False), Text(_summary(site, placed, bars))]
    parts += _first(site, power)
    parts += [Heading("Cautions", new_page=False)]
    parts += [Text(text, caution=True, lead=f"{title}.") for title, text in cautions(house.unit)]
    parts += [
        Picture(page, full_page=True, title=f"map, {name}")
        for name, page in one_by_one(site, (paper[1], paper[0])).items()
    ]
    parts += cut_list(house, placed, bars)
    parts += hanging(house, placed, line_layouts)
    parts += [
        Picture(side.drawing, full_page=True, title=f"hanging, {side.name}")
        for side in hanging_drawings(site, placed, (paper[1], paper[0]))
    ]
    parts += drill_sheets(placed, house.unit, house.bench)
    if house.drill is not None:
        parts += _machine(site, placed)
    room = (paper[0] - 2 * MARGIN, paper[1] - 2 * MARGIN)
    plan = diagram(site, (room[0], room[1] - TITLE))
    parts += wiring_sheet(site, placed, plan)
    parts += power_sheet(site, power)
    parts += board_sheet(site)
    parts += bill(house, items(site, placed, bars, power))
    parts += label_sheet(site, room)
    return Book(parts, placed, bars, power, plan)


def _first(site: Site, power: PowerCheck) -> list[Part]:
    """Return what to check before anything is bought or drilled."""
    parts: list[Part] = [Text(text, caution=True, lead="Danger:") for text in power.dangers]
    parts += [Text(str(a), caution=True, lead="Accepted:") for a in site.verdict.accepted]
    if count := len(power.doubts):
        text = (
            f"{count} warning{'s' if count > 1 else ''} about voltage, current and fuses. See "
            "Wires to the line, under Wiring, before you buy."
        )
        parts.append(Text(text, caution=True, lead="Power:"))
    if guesses := assumed(site):
        text = f"{some(len(guesses), 'thing')} about the wiring, listed under Wires to the line."
        parts.append(Text(text, caution=True, lead="Assumed:"))
    parts += [Text(note, caution=True, lead="Check this:") for note in site.pixels.notes]
    return parts


def _summary(site: Site, placed: list[PlacedRail], bars: list[Bar]) -> str:
    house, kinds, lines = site.house, len(by_letter(placed)), len(site.line_layouts)
    return (
        f"{len(site.pixels):,} pixels ({house.kind.name}, {house.kind.volts:g} V) on "
        f"{some(lines, 'data line')}, in {some(len(placed), 'rail')} of {some(kinds, 'kind')}, "
        f"cut from {some(len(bars), 'length')} of "
        f"{show_written(house.rail.length, house.unit)}, with a hole every "
        f"{show_fine(house.rail.hole_spacing, house.unit)} unless an edge has its own spacing."
    )


def _machine(site: Site, placed: list[PlacedRail]) -> list[Part]:
    """Return the settings of the drilling programs."""
    house = site.house
    drill = house.drill
    assert drill is not None
    parts: list[Part] = [
        Heading("Drilling by machine"),
        Text(BENCH, caution=True),
        Text(
            f"There is a program for each kind of rail, drill-*.nc, for a machine with "
            f"{show_written(drill.travel, house.unit)} of travel. In each setting, push the rail's "
            "datum end against the stop, clamp the rail, and start; the program pauses (M0) while "
            "you move the stop. Run each program in the air first."
        ),
    ]
    rows = []
    for kind, same in by_letter(placed).items():
        for i, part in enumerate(settings(same[0].pattern, drill), 1):
            stop = (
                f"{inches(part.stop, 16)} in"
                if drill.units == "in"
                else f"{float(part.stop * 1000):.0f} mm"
            )
            where = f"{stop} left of zero" if part.stop else "at zero"
            rows.append((kind, str(i), where, f"{part.holes[0][0] + 1} to {part.holes[-1][0] + 1}"))
    parts.append(Table("settings", ("rail kind", "setting", "stop", "hole numbers"), tuple(rows)))
    return parts
