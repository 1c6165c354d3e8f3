"""lumenmap power: currents, voltages and fuses of a house, at full white and in a show."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from lumenmap.cli.shared.options import Effects, Json, house_file, print_report, progress
from lumenmap.cli.shared.terminal import width


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
        typer.Option("--suggest", help="Compare plans of how to feed the house, in place of that."),
    ] = False,
    light: Annotated[
        str,
        typer.Option(
            "--light",
            metavar="LIGHT",
            help="What the plans are for: full, a level such as 60%, shows (those in the folder), "
            "or wiring (what today's can do).",
        ),
    ] = "full",
    margin: Annotated[
        float,
        typer.Option(
            "--margin",
            metavar="PERCENT",
            help="Volts that plans keep above the pixels' least.",
            min=0,
            max=50,
        ),
    ] = 5.0,
    wire: Annotated[
        str,
        typer.Option("--wire", metavar="SIZE", help="Plan buses and trunks of this wire only."),
    ] = "",
    anywhere: Annotated[
        bool,
        typer.Option(
            "--anywhere", help="Plan feeds and taps at any pixel too, not at connectors only."
        ),
    ] = False,
    plan: Annotated[
        str,
        typer.Option("--plan", metavar="NAME", help="Print this plan for the house file."),
    ] = "",
    out: Annotated[
        Path | None,
        typer.Option("-o", "--out", metavar="FILE", help="Draw the plans: .svg, .png or .pdf."),
    ] = None,
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

    Example: lumenmap power my-house --suggest --light 60% -o plans.svg

    Example: lumenmap power my-house --plan trunk > trunk.toml
    """
    from lumenmap.core.errors import InputError
    from lumenmap.jobs.measure import measure_all, measured
    from lumenmap.power.report.brief import Brief
    from lumenmap.power.report.report import power_report
    from lumenmap.site import Site

    file = house_file(house)
    site = Site.read(file)
    if suggest or plan or out is not None:
        if show is not None or plots is not None or everything:
            raise InputError(
                "--show, --plots and --all belong to the report, and --suggest, --plan and -o to "
                "the plans; leave out the one or the other"
            )
        from lumenmap.jobs.measure import show_codes
        from lumenmap.power.feeding.suggest import Asked
        from lumenmap.power.feeding.suggest import suggest as suggested

        shows, left_out = show_codes(site, effect_folders or ())
        asked = Asked(light, margin / 100, anywhere, wire)
        with progress("planning"):
            advice = suggested(site, shows, asked, left_out)
        if out is not None:
            from lumenmap.drawing.write import write_drawing
            from lumenmap.power.feeding.picture import plans_picture

            write_drawing(plans_picture(advice), out, f"{site.house.name}: plans")
        lines = advice.toml(plan) if plan else advice.lines(width())
        told = [f"{'# ' if plan else ''}wrote {out}"] if out else []
        print_report(advice.report(), [*lines, *told], as_json, fold=not plan)
        return
    if light != "full" or wire or anywhere:
        raise InputError("--light, --wire and --anywhere go with --suggest or --plan")
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
