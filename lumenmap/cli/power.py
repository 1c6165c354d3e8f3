"""lumenmap power: currents, voltages and fuses of a house, at full white and in a show."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from lumenmap.cli.shared.options import Effects, Json, open_show, print_report, progress

if TYPE_CHECKING:
    from lumenmap.jobs.project import Project
    from lumenmap.power.report.report import ShowTrace
    from lumenmap.site import Site


def power(
    house: Annotated[Path, typer.Argument(metavar="HOUSE", help="The house file.")],
    show: Annotated[
        Path | None,
        typer.Option("--show", metavar="SHOW", help="Report what this show draws, too."),
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
    effect_folders: Effects = None,
    as_json: Json = False,
) -> None:
    """Report the current in every supply, fuse and wire, and the voltage at every pixel.

    Example: lumenmap power my-house/house.toml --show my-house/show.toml --plots out

    Example: lumenmap power my-house/house.toml --suggest
    """
    from lumenmap.power.report.report import power_report
    from lumenmap.site import Site

    site = Site.read(house)
    project = open_show(show, house, effect_folders) if show else None
    traced = _trace(project, site) if project else None
    found = power_report(site, traced)
    report, lines = found.report(), found.lines()
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
            if traced and project:
                amps = amps_over_time(traced, project.site.budgets)
                files.path("amps.svg").write_bytes(svg(amps).encode())
        lines += ["", f"wrote {plots}/volts.svg" + (" and amps.svg" if traced else "")]
    print_report(report, lines, as_json)


def _trace(project: Project, site: Site) -> ShowTrace:
    from lumenmap.jobs.project import limited
    from lumenmap.power.report.report import trace

    with progress("limiting") as update:
        blocks = (got.codes for got in limited(project, progress=update))
        return trace(blocks, site, project.show.name, project.show.fps)
