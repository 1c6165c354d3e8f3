"""Checking exported frames from their bytes and the house file.

Strategy: the current of every frame is recounted from the file's bytes, in the order the wire
carries them, by arithmetic that neither the renderer nor the limiter uses. Flashes are a warning,
not a failure: whether a show is right for those who will see it is for people to decide.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from lumenmap.codes.flashes import Flashing
from lumenmap.codes.flashing import FlashCounter
from lumenmap.controller.files.sidecar import LARGEST, Sidecar, read_sidecar
from lumenmap.core.errors import InputError
from lumenmap.core.folders.output_set import finish_interrupted
from lumenmap.core.plain import plain
from lumenmap.core.regular import read_regular
from lumenmap.core.wording import some
from lumenmap.pixels.pixelmap import PixelMap
from lumenmap.pixels.regions import flash_regions
from lumenmap.power.account.account import Account, account
from lumenmap.power.account.compare import differences, missing, stated
from lumenmap.power.account.origin import house_of
from lumenmap.power.account.recount import MAX_REPORTED, Recount, recount
from lumenmap.site import Site


@dataclass(slots=True)
class RecheckResult:
    """The result of checking an export.

    Attributes
    ----------
    account
        The figures recounted from the bytes.
    problems
        Why the frames may not be played, a sentence each: their bytes aren't those that were
        written, or break a budget.
    differences
        Where the files next to the bytes state other figures than are counted, a sentence each.
    notes
        What couldn't be compared.
    flashing
        Where more than three flashes a second were counted: a warning, not a problem.
    flashing_because
        Why the show may flash, as its file says; empty if it doesn't.
    """

    account: Account
    problems: list[str] = field(default_factory=list)
    differences: list[str] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)
    flashing: list[Flashing] = field(default_factory=list)
    flashing_because: str = ""

    @property
    def good(self) -> bool:
        """Whether there are no problems and no differences."""
        return not self.problems and not self.differences

    def report(self) -> dict[str, Any]:
        """Return the same as plain data: A, frames, frames/s."""
        c = self.account
        return {
            "frames": c.frames,
            "fps": c.fps,
            **c.report(),
            "problems": list(self.problems),
            "differences": list(self.differences),
            "notes": list(self.notes),
            "flashing": [f.report() for f in self.flashing],
            "flashing_because": self.flashing_because,
        }


def recheck(
    path: Path | str, house: Path | str | None = None, *, flashes: bool = True
) -> RecheckResult:
    """Recount current, flashes and checksum of exported frames.

    Parameters
    ----------
    path
        ``frames.json``; ``frames.rgb`` is read from the same folder.
    house
        The house file; if left out, it is looked for next to the frames and one folder up.
    flashes
        Whether to count flashes, which takes longer than everything else.

    Raises
    ------
    DangerError
        The house's wiring is dangerous.
    InputError
        A file is missing or unreadable, or doesn't fit the house.
    """
    path = Path(path)
    finish_interrupted(path.parent)
    sidecar, _ = read_sidecar(path)
    if not sidecar.house and not house:
        raise InputError("names no house; name its file too", file=path, key="house")
    site = Site.read(house or house_of(path, str(sidecar.house), sidecar.house_sha256))
    return Checker(site).check(path, flashes=flashes)


class Checker:
    """Checks any number of exports made for one site; see `check`."""

    def __init__(self, site: Site) -> None:
        site.verdict.require_safe()
        self.site, self.map = site, site.pixels
        self.budgets = site.budgets

    def check(self, path: Path, *, flashes: bool = True) -> RecheckResult:
        """Recount current, flashes and checksum of the frames next to ``path``, a ``frames.json``.

        Raises
        ------
        InputError
            As `recheck`.
        """
        sidecar, meta = read_sidecar(path)
        _require_fit(sidecar, self.map, path)
        fps = sidecar.fps
        watch = FlashCounter(fps, flash_regions(self.map)) if flashes else None
        counted = recount(path.with_name("frames.rgb"), self.map, self.budgets, watch)
        proof = account(
            self.site,
            frames=counted.frames,
            fps=fps,
            sha256=counted.sha256,
            rows=counted.rows(),
        )
        expected = stated(self.site, counted, fps, flashes)
        different, notes = differences(meta, expected), missing(meta, expected)
        written = path.with_name("account.txt")
        if not written.exists():
            notes.append("account.txt, the account of the power, isn't there: not compared")
        elif _bytes(written) != proof.text().encode():
            different.append(
                "account.txt doesn't match frames.rgb: its figures differ from the recount"
            )
        return RecheckResult(
            proof,
            _problems(counted, sidecar),
            different,
            notes,
            counted.flashing,
            plain(sidecar.flashing_because),
        )


def _bytes(path: Path) -> bytes:
    try:
        return read_regular(path, LARGEST, "an account")
    except OSError as error:
        raise InputError(f"can't be read: {error.strerror or error}", file=path) from None


def _require_fit(sidecar: Sidecar, pixelmap: PixelMap, path: Path) -> None:
    """Refuse frames that were made for other lines than the house has."""
    kind = pixelmap.kind
    if sidecar.pixels != len(pixelmap) or sidecar.channels != kind.channels:
        raise InputError(
            f"has {sidecar.pixels} pixels of {sidecar.channels} channels; the house has "
            f"{len(pixelmap)} of {kind.channels}. Export the show again",
            file=path,
        )
    there = [(x.name, x.first, x.count, x.universe, x.order) for x in sidecar.lines]
    here = [(s.name, s.first, s.count, s.universe, s.order) for s in pixelmap.lines]
    if there != here:
        raise InputError(
            "differ from the lines of the house; export the show again", file=path, key="lines"
        )


def _problems(counted: Recount, sidecar: Sidecar) -> list[str]:
    """Return a sentence for each problem."""
    found = []
    if counted.extra_bytes or counted.frames != sidecar.frames:
        extra = f" and {some(counted.extra_bytes, 'more byte')}" if counted.extra_bytes else ""
        found.append(
            f"frames.rgb holds {counted.frames} whole frames{extra}; "
            f"frames.json says {sidecar.frames}"
        )
    if counted.sha256 != sidecar.sha256:
        found.append(
            "frames.rgb isn't the file that frames.json describes: its SHA-256 is "
            f"{counted.sha256}; expected {sidecar.sha256[:64]}"
        )
    for frame, k, amps in counted.over[:MAX_REPORTED]:
        b = counted.budgets
        found.append(
            f'frame {frame} ({frame / sidecar.fps:.3f} s): {b.kinds[k]} "{b.names[k]}" would '
            f"draw {amps:.3f} A; its budget is {b.amps[k]:.3f} A"
        )
    return found
