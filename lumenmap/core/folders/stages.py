"""Stages: hidden folders where a set of files waits to be moved in, and what says it is whole.

A stage that is found may come from a program that was killed, from a disk that lost power, or from
somebody's archive. So it counts by its content alone: a real folder whose first file repeats its
name, and whose plan has the checksum of every file still in it. Anything else is left alone.
"""

from __future__ import annotations

import hashlib
import json
import os
import re
import shutil
import stat
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any

from lumenmap.core import system
from lumenmap.core.files import check_replaceable
from lumenmap.core.notices import notice

#: Which of a folder's files lumenmap wrote, and their SHA-256.
RECORD = ".lumenmap-files.json"
#: The first file of a stage: the name of the stage; then, the last one: what is to be done.
BEGUN, PLAN = ".begun", ".plan"
_NAME = re.compile(r"\.lumenmap-set-[0-9a-f]{16}")
#: No record or plan of ours is larger (bytes).
_LARGEST = 1_000_000


@dataclass(frozen=True)
class Plan:
    """Names and SHA-256 of the files to move into the folder, and of those to delete from it."""

    moving: dict[str, str]
    dropping: dict[str, str]


def new_stage(folder: Path, token: str) -> Path:
    """Make a stage in ``folder``."""
    stage = folder / f".lumenmap-set-{token}"
    stage.mkdir()
    (stage / BEGUN).write_bytes(stage.name.encode())
    return stage


def stages(folder: Path) -> list[Path]:
    """Return the stages in a folder: those made by `new_stage`, nothing that only looks alike."""
    found = (f for f in folder.iterdir() if _NAME.fullmatch(f.name))
    return sorted(f for f in found if _is_folder(f) and _made_here(f))


def _made_here(stage: Path) -> bool:
    """Return whether a folder is a stage; one killed before its first file is still empty."""
    begun = stage / BEGUN
    if not is_file(begun):
        return not any(stage.iterdir())
    return begun.stat().st_size <= 100 and begun.read_bytes() in (stage.name.encode(), b"")


def _is_folder(path: Path) -> bool:
    return stat.S_ISDIR(path.lstat().st_mode)


def is_file(path: Path) -> bool:
    """Return whether there is a file, and not a link to one."""
    try:
        return stat.S_ISREG(path.lstat().st_mode)
    except (OSError, ValueError):
        return False


def discard(stage: Path) -> None:
    """Delete a stage and what is in it.

    The plan goes first, as without it the rest is never moved; what marks it as ours goes last.
    """
    if not os.path.lexists(stage):
        return
    (stage / PLAN).unlink(missing_ok=True)
    for inside in stage.iterdir():
        if inside.name != BEGUN:
            shutil.rmtree(inside) if _is_folder(inside) else inside.unlink()
    shutil.rmtree(stage, ignore_errors=True)


def digest(path: Path) -> str:
    """Return the SHA-256 of a file."""
    with path.open("rb") as file:
        return hashlib.file_digest(file, "sha256").hexdigest()


def write_plan(stage: Path, plan: Plan, record: dict[str, str] | None) -> None:
    """Say that the stage is whole; from here on it is moved in, if not by us by the next one.

    ``record`` goes with it, unless None.
    """
    moving = dict(plan.moving)
    if record is not None:
        text = json.dumps({"files": dict(sorted(record.items()))}, indent=1) + "\n"
        (stage / RECORD).write_bytes(text.encode())
        moving[RECORD] = hashlib.sha256(text.encode()).hexdigest()
    for name in moving:
        system.flush(stage / name)
    draft = stage / f"{PLAN}-draft"
    draft.write_bytes(json.dumps(asdict(Plan(moving, plan.dropping))).encode())
    system.flush(draft)
    draft.replace(stage / PLAN)
    system.flush(stage)


def planned(stage: Path) -> bool:
    """Return whether a stage is whole, or was."""
    return is_file(stage / PLAN)


def move_in(stage: Path, *, trusted: bool = False) -> None:
    """Move a planned stage's files into its folder, delete what the plan drops, and the stage.

    What is no longer in the stage was moved before the program was killed. A stage with a file
    that isn't the planned one is thrown away, and people are told; one that this process has just
    planned is ``trusted``.

    Raises
    ------
    OSError, InputError
        A file can't be replaced; the stage stays for the next try.
    """
    folder = stage.parent
    plan = _read_plan(stage)
    if plan is None or not (trusted or _as_planned(stage, plan)):
        notice(f"{folder}: an interrupted set of files is damaged; run the command again")
        discard(stage)
        return
    left = [name for name in plan.moving if (stage / name).exists()]
    for name in left:
        check_replaceable(folder / name)
    for name, known in plan.dropping.items():
        if is_file(folder / name) and digest(folder / name) == known:
            (folder / name).unlink()
    # The record last: until then it names the old files, which are ours as well.
    for name in sorted(left, key=lambda n: (n == RECORD, n)):
        system.replace(stage / name, folder / name)
    system.flush(folder)
    discard(stage)


def _as_planned(stage: Path, plan: Plan) -> bool:
    for name, known in plan.moving.items():
        path = stage / name
        if os.path.lexists(path) and not (is_file(path) and digest(path) == known):
            return False
    return True


def _read_plan(stage: Path) -> Plan | None:
    data = _json(stage / PLAN)
    moving, dropping = _names(data.get("moving")), _names(data.get("dropping"))
    return None if moving is None or dropping is None else Plan(moving, dropping)


def read_record(folder: Path) -> dict[str, str]:
    """Return the names and SHA-256 of the files in a folder that lumenmap wrote."""
    return _names(_json(folder / RECORD).get("files")) or {}


def _json(path: Path) -> dict[str, Any]:
    """Return a small file's JSON table; an empty one if there is none, or it is damaged."""
    try:
        if not is_file(path) or path.stat().st_size > _LARGEST:
            return {}
        data = json.loads(path.read_bytes())
    except (OSError, ValueError, RecursionError):
        return {}
    return data if isinstance(data, dict) else {}


def _names(table: object) -> dict[str, str] | None:
    """Return a table of plain file names and checksums, or None if it is anything else."""
    if not isinstance(table, dict):
        return None
    for name, known in table.items():
        plain = name not in ("", ".", "..", BEGUN, PLAN) and not set(name) & set("/\\:\0")
        if not plain or not isinstance(known, str):
            return None
    return table
