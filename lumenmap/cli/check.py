"""lumenmap check: does the show stay within its budgets."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Annotated, Any

import typer

from lumenmap.cli.shared.options import (
    Effects,
    House,
    Json,
    Values,
    exit_if_failed,
    open_show,
    print_report,
    progress,
)
from lumenmap.cli.shared.wording import flashing, summary
from lumenmap.core.errors import InputError


def check(
    file: Annotated[
        Path,
        typer.Argument(
            metavar="FILE", help="A show file, or an export: its folder or frames.json."
        ),
    ],
    house: House = None,
    effect_folders: Effects = None,
    values: Values = None,
    as_json: Json = False,
) -> None:
    """Check the currents, refresh rates and flashes of a show or an export; write nothing.

    For a frames.json, currents and flashes are calculated from the exported bytes and the house
    file alone. Exits with 1 if a checksum, a current or a line's refresh rate fails. More than
    three flashes a second are only a warning: no count can promise that a show is safe for
    everyone who sees it.

    Example: lumenmap check my-house/show.toml

    Example: lumenmap check out/frames.json
    """
    if file.is_dir() and (file / "frames.json").is_file():
        file /= "frames.json"
    exported = file.suffix == ".json"
    if exported and values:
        raise InputError("was exported with its values; they can't be set any more", file=file)
    report, lines = (
        _exported(file, house) if exported else _show(file, house, effect_folders, values)
    )
    print_report(report, lines, as_json)
    exit_if_failed(report)


def _show(
    file: Path,
    house: Path | None,
    effect_folders: list[Path] | None,
    values: list[str] | None,
) -> tuple[Mapping[str, Any], list[str]]:
    with progress("checking") as update:
        from lumenmap.jobs.export import check as check_project

        project = open_show(file, house, effect_folders, values)
        report = check_project(project, progress=update)
    return report, summary(report)


def _exported(file: Path, house: Path | None) -> tuple[Mapping[str, Any], list[str]]:
    from lumenmap.power.account.recheck import recheck

    result = recheck(file, house=house)
    report = result.report()
    lines = [
        f"{file}: currents and flashes, calculated from the exported bytes and the house file",
        "",
        *result.account.text().splitlines(),
        "",
        *(f"PROBLEM: {p}" for p in [*report["problems"], *report["differences"]]),
        *(f"NOTE: {n}" for n in report["notes"]),
    ]
    if not report["problems"]:
        lines.append("checksum matches, no frame is over a budget")
    if result.good:
        lines.append("every figure in frames.json is the same, counted again")
    lines += flashing(report["flashing"]) or [
        "flashes, counted from the bytes by WCAG 2.2: no more than three a second anywhere; no "
        "count can promise that a show is safe for everyone"
    ]
    return report, lines
