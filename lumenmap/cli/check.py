"""lumenmap check: does the show keep inside what the supply gives."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Annotated, Any

import typer

from lumenmap.cli.shared.options import Effects, House, Json, finish, open_show, progress, say
from lumenmap.cli.shared.wording import flashing, summary


def check(
    file: Annotated[
        Path, typer.Argument(metavar="FILE", help="A show, or the frames.json of an export.")
    ],
    house: House = None,
    effects: Effects = None,
    as_json: Json = False,
) -> None:
    """Check a show, or exported frames, against budgets, refresh and flashes; write nothing.

    Given a frames.json, amps and flashes are counted again from the bytes beside it and the house
    file alone, by code that the export does not use. Ends with 1 if a digest, an amp or a line's
    refresh is wrong. More than three flashes a second are told as a warning and do not change that:
    no count can promise that a show is right for everyone who sees it.

    Example: lumenmap check my-house/show.toml

    Example: lumenmap check out/frames.json
    """
    exported = file.suffix == ".json"
    report, lines = _exported(file, house) if exported else _show(file, house, effects)
    say(report, lines, as_json)
    finish(report)


def _show(
    file: Path, house: Path | None, effects: list[Path] | None
) -> tuple[Mapping[str, Any], list[str]]:
    from lumenmap.jobs.export import check as check_project

    project = open_show(file, house, effects)
    with progress("checking") as told:
        report = check_project(project, progress=told)
    return report, summary(report)


def _exported(file: Path, house: Path | None) -> tuple[Mapping[str, Any], list[str]]:
    from lumenmap.power.account.recheck import recheck

    result = recheck(file, house=house)
    report = result.report()
    lines = [
        f"{file}: amps and flashes recounted from the bytes and the house alone",
        "",
        *result.certificate.text().splitlines(),
        "",
        *(f"PROBLEM: {p}" for p in report["problems"]),
    ]
    if not report["problems"]:
        lines.append("digest matches, no frame over a budget")
    lines += flashing(report["flashing"]) or [
        "flashes counted from the bytes, by WCAG 2.2: no more than three a second anywhere; that "
        "is no promise for any one person"
    ]
    return report, lines
