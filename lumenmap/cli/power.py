"""lumenmap power: currents, voltages and fuses of a house, at full white and in a show."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from lumenmap.cli.shared.options import Effects, Json, house_file, print_report, progress


def power(
    house: Annotated[Path, typer.Argument(metavar="HOUSE", help="The house file, or its folder.")],
    show: Annotated[
        Path | None,
        typer.Option(
            "--show", metavar="SHOW", help="Measure this show, not those next to the house."
        ),
    ] = None,
    suggest: Annotated[
        bool,
        typer.Option("--suggest", help="Propose the fewest feeds and thinnest wires, or a bus."),
    ] = False,
    plots: Annotated[
        Path | None,
        typer.Option(
            "--plots", metavar="DIR", help="Write volts.svg here, and amps.svg for a show."
        ),
    ] = None,
    everything: Annotated[
        bool,
        typer.Option("--all", help="Print full white in detail, all findings, sources, cautions."),
    ] = False,
    effect_folders: Effects = None,
    as_json: Json = False,
) -> None:
    """Report what holds a house's light, and what its shows draw: currents, voltages, fuses.

    HOUSE may be a folder; its house.toml is read. The shows next to it are measured.

    Example: lumenmap power my-house

    Example: lumenmap power my-house --show my-house/show.toml --plots out --all

    Example: lumenmap power my-house --suggest
    """
    from lumenmap.jobs.measure import measure_all, measured
    from lumenmap.power.report.brief import Brief
    from lumenmap.power.report.report import power_report
    from lumenmap.site import Site

    file = house_file(house)
    site = Site.read(file)
    site.verdict.require_solvable()
    traced, left = None, list[str]()
    if show is not None:
        with progress("limiting") as update:
            traced, draw = measured(show, site, effect_folders or (), progress=update)
        draws = [draw]
    else:
        draws, left = measure_all(site, effect_folders or ())
    found = power_report(site, traced)
    brief = Brief.of(found, draws, left)
    report = {**found.report(), **brief.report()}
    lines = [brief.bound.sentence, "", *found.lines()] if everything else brief.lines(str(house))
    if suggest:
        from lumenmap.power.feeding.suggest import suggest as suggest_feeding

        advice = suggest_feeding(site)
        report["suggestions"] = advice.report()
        lines += ["", *advice.lines()]
    if plots is not None:
        from lumenmap.core.folders.output_set import OutputSet
        from lumenmap.drawing.svg import svg
        from lumenmap.power.report.plots import amps_over_time, volts_along

        with OutputSet(plots) as files:
            files.path("volts.svg").write_bytes(svg(volts_along(found)).encode())
            if traced:
                files.path("amps.svg").write_bytes(
                    svg(amps_over_time(traced, site.budgets)).encode()
                )
        lines += ["", f"wrote {plots}/volts.svg" + (" and amps.svg" if traced else "")]
    print_report(report, lines, as_json)
