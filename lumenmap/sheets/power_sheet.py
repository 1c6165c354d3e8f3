"""The power sheet: every pair of wires with its fuse, what is wrong, accepted and assumed."""

from __future__ import annotations

from collections.abc import Iterator

from lumenmap.core.lengths import show_length
from lumenmap.drawing.document import Heading, Part, Table, Text
from lumenmap.sheets.fuse_check import PowerCheck
from lumenmap.sheets.wires.data import assumed_leads
from lumenmap.sheets.wires.leads import Lead, show_fuse
from lumenmap.sheets.wires.spots import tell
from lumenmap.site import Site

COLUMNS = ("mark", "source", "joins", "size, one way", "thinnest behind its fuse", "fuse")
WIDTHS = (0.07, 0.15, 0.29, 0.16, 0.16, 0.17)


def power_sheet(site: Site, power: PowerCheck) -> Iterator[Part]:
    """Yield the wires with their fuses, then what is wrong, accepted and assumed."""
    yield Heading("Wires to the line", new_page=False)
    if power.leads:
        yield _wires(site, power)
        yield _verdict(power)
    else:
        yield Text(
            "The house file has no [[feed]]: give one for each wire from a supply to a line."
        )
    if site.house.supplies:
        for accepted in site.verdict.accepted:
            yield Text(str(accepted), caution=True, lead="Accepted:")
    yield from _listed(
        "Warnings, with every pixel at full white", "power-warnings", "warning", power.warnings
    )
    yield from _listed("Worth knowing", "power-notes", "note", power.notes)
    yield from _listed("Assumed", "assumed", "until the house file says", assumed(site))


def assumed(site: Site) -> tuple[str, ...]:
    """Return what is assumed because the house file leaves it out, a sentence each."""
    lead = assumed_leads(site)
    return (*site.assumptions, *((lead,) if lead else ()))


def _listed(title: str, name: str, column: str, texts: tuple[str, ...]) -> Iterator[Part]:
    if texts:
        yield Heading(title, new_page=False)
        rows = tuple((str(i), text) for i, text in enumerate(texts, 1))
        yield Table(name, ("no.", column), rows, right_aligned=(0,), widths=(0.07, 0.93))


def _wires(site: Site, power: PowerCheck) -> Table:
    rows = []
    for lead in power.leads:
        check = power.fuse_checks.get(lead.mark)
        thin = f"{check.thin.what}, {check.thin.size}: {check.thin.amps:g} A" if check else ""
        unknown = f"{show_fuse(lead.fuse)}: not checked"
        rows.append(
            (
                lead.mark,
                _from(lead),
                _to(site, lead),
                _size(site, lead),
                thin or ("" if lead.kind == "bus" else "not checked"),
                "" if lead.kind == "bus" else check.fuse if check else unknown,
            )
        )
    return Table("wires", COLUMNS, tuple(rows), widths=WIDTHS, ticks=("joined",))


def _from(lead: Lead) -> str:
    """Return the source, and the wire's name if it has one, since findings use it."""
    if lead.kind == "bus":
        return f'bus "{lead.name}"'
    named = {
        "feed": lead.name.startswith(f"{lead.source} to {lead.line} "),
        "tap": lead.name.startswith(f"{lead.source} "),
    }.get(lead.kind, lead.kind == "tie")
    source = f'bus "{lead.source}"' if lead.kind == "tie" else lead.source
    return source if named else f'{source} ("{lead.name}")'


def _to(site: Site, lead: Lead) -> str:
    place = tell(site, lead.line, lead.place)
    if lead.stop is None:
        return f"{lead.line}: {place}"
    return f"along {lead.line}; from: {place}; to: {tell(site, lead.line, lead.stop)}"


def _size(site: Site, lead: Lead) -> str:
    if lead.kind == "tie":
        return "tie"
    unit = site.house.unit
    text = lead.make(unit)
    if lead.kind == "trunk":
        text += f", of it {show_length(lead.lead_in, unit)} to the line"
    return text


def _verdict(power: PowerCheck) -> Text:
    """Return whether the fuses protect the wire behind them, as far as they could be checked."""
    text = (
        "Put each fuse at the supply end of its wire, that of a tap at the trunk. The colour is "
        "only a hint: go by the number on the fuse. "
    )
    table = f'table "{power.table}"; local code and the data sheet of the wire override it'
    if not power.fuse_checks:
        return Text(f"{text}Whether they protect the wire was NOT checked.", True, "Fuses:")
    if bad := power.unprotected:
        names = ", ".join(f.lead.mark for f in bad)
        return Text(f"{text}NOT protected: the wire behind {names}, by {table}.", True, "Fuses:")
    return Text(
        f"{text}None is larger than the ampacity of the thinnest wire behind it, by {table}."
    )
