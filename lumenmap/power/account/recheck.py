"""Checking exported frames from their bytes and the house alone.

Strategy: nothing here comes from the renderer or the limiter, nor from the code that works out
budgets for them: `independent` has its own. Amps and flashes are counted from the file's bytes in
the order the wire carries them. Too many flashes are a warning and no failure: whether a show is
right for those who will see it is for people to judge, and no count can promise it.
"""

from __future__ import annotations

import json
import math
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from lumenmap.core.errors import InputError
from lumenmap.core.files import finish_interrupted
from lumenmap.pixels.pixelmap import PixelMap
from lumenmap.power.account.certificate import Certificate, certificate
from lumenmap.power.account.independent import independent_budgets
from lumenmap.power.account.recount import MOST, Recount, recount
from lumenmap.power.account.reflash import Reflash, ReflashCount
from lumenmap.site import Site

#: A sidecar is a page of text; a larger one is something else.
_LARGEST = 5_000_000


@dataclass(slots=True)
class Rechecked:
    """What the bytes say.

    Attributes
    ----------
    certificate
        The figures counted from the bytes as they are.
    problems
        Plain sentences; empty if all is well.
    flashing
        Where more than three flashes a second were counted: a warning, no problem.
    """

    certificate: Certificate
    problems: list[str] = field(default_factory=list)
    flashing: list[Reflash] = field(default_factory=list)

    @property
    def good(self) -> bool:
        """Whether nothing was found wrong."""
        return not self.problems

    def report(self) -> dict[str, Any]:
        """Return the same as plain data: A, frames, frames/s."""
        c = self.certificate
        return {
            "frames": c.frames,
            "fps": c.fps,
            **c.report(),
            "problems": list(self.problems),
            "flashing": [f.report() for f in self.flashing],
        }


def recheck(
    path: Path | str, house: Path | str | None = None, *, flashes: bool = True
) -> Rechecked:
    """Recompute amps, flashes and digest of exported frames.

    Parameters
    ----------
    path
        ``frames.json``; ``frames.rgb`` is read beside it.
    house
        The house file, if not the one that the sidecar names.
    flashes
        Whether to count them: it takes longer than all the rest.

    Raises
    ------
    InputError
        A file is missing or unreadable, or does not fit the house.
    """
    path = Path(path)
    finish_interrupted(path.parent)
    side = _sidecar(path)
    site = Site.read(Path(house) if house else path.parent / side["house"])
    return Checker(site).check(path, flashes=flashes)


class Checker:
    """A site made ready to check any number of exports made for it; `check` gives one's result."""

    def __init__(self, site: Site) -> None:
        self.site, self.map = site, site.pixels
        self.budgets = independent_budgets(site)

    def check(self, path: Path, *, flashes: bool = True) -> Rechecked:
        """Recompute amps, flashes and digest of the frames beside ``path``, a ``frames.json``."""
        side = _sidecar(path)
        _fits(side, self.map, path)
        fps = float(side["fps"])
        count = ReflashCount(fps, self.map) if flashes else None
        counted = recount(path.with_name("frames.rgb"), self.map, self.budgets, count)
        proof = certificate(
            self.site,
            frames=counted.frames,
            fps=fps,
            sha256=counted.sha256,
            rows=counted.rows(),
        )
        problems = _problems(counted, side)
        beside = path.with_name("certificate.txt")
        if beside.exists() and beside.read_bytes() != proof.text().encode():
            problems.append("certificate.txt does not say what the bytes do")
        return Rechecked(proof, problems, counted.flashing)


def _sidecar(path: Path) -> dict[str, Any]:
    try:
        if path.stat().st_size > _LARGEST:
            raise InputError("is too large for a frames.json", file=path)
        side = json.loads(path.read_bytes())
    except FileNotFoundError:
        raise InputError(f"no such file in {path.parent}", file=path) from None
    except OSError as error:
        raise InputError(f"can't be read: {error.strerror}", file=path) from None
    except (ValueError, RecursionError) as error:
        raise InputError(f"is not JSON: {error}", file=path) from None
    if not isinstance(side, dict) or side.get("format") != "lumenmap-frames":
        raise InputError('is no frames.json; wanted format "lumenmap-frames"', file=path)
    if side.get("version") != 1:
        raise InputError(f"is version {side.get('version')!r:.20}; this reads version 1", file=path)
    wanted: dict[str, type | tuple[type, ...]] = {
        "frames": int,
        "pixels": int,
        "channels": int,
        "lines": list,
        "sha256": str,
        "house": str,
        "fps": (int, float),
    }
    for key, kind in wanted.items():
        if not isinstance(side.get(key), kind) or isinstance(side[key], bool):
            raise InputError("is missing or of the wrong kind", file=path, key=key)
    if not (math.isfinite(side["fps"]) and side["fps"] > 0):
        raise InputError(f"is {side['fps']}; wanted a rate above 0", file=path, key="fps")
    return side


def _fits(side: dict[str, Any], pixelmap: PixelMap, path: Path) -> None:
    """Refuse frames that were made for other lines than the house has."""
    kind = pixelmap.kind
    if side["pixels"] != len(pixelmap) or side["channels"] != kind.channels:
        raise InputError(
            f"has {side['pixels']} pixels of {side['channels']} channels; the house has "
            f"{len(pixelmap)} of {kind.channels}. Export the show again",
            file=path,
        )
    there = [
        (row.get("name"), row.get("first"), row.get("count"), row.get("order"))
        if isinstance(row, dict)
        else None
        for row in side["lines"]
    ]
    here = [(s.name, s.first, s.count, s.order) for s in pixelmap.lines]
    if there != here:
        raise InputError(
            "differ from the house's lines; export the show again", file=path, key="lines"
        )


def _problems(counted: Recount, side: dict[str, Any]) -> list[str]:
    """Say what is wrong, in sentences."""
    found = []
    if counted.spare or counted.frames != side["frames"]:
        spare = f" and {counted.spare} bytes" if counted.spare else ""
        found.append(
            f"frames.rgb holds {counted.frames} whole frames{spare}; "
            f"frames.json says {side['frames']}"
        )
    if counted.sha256 != side["sha256"]:
        found.append(
            "frames.rgb is not the file that frames.json speaks of: its SHA-256 is "
            f"{counted.sha256}, not {side['sha256'][:64]}"
        )
    for frame, k, amps in counted.over[:MOST]:
        b = counted.budgets[k]
        found.append(
            f'frame {frame} ({frame / side["fps"]:.3f} s): {b.kind} "{b.name}" would draw '
            f"{amps:.3f} A; its budget is {b.limit:.3f} A"
        )
    return found
