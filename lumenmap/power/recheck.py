"""Checking exported frames from their bytes and the house alone.

Strategy: nothing here comes from the renderer or the limiter, nor from the code that works out
budgets for them: `anew` has its own. Amps are counted from the file's bytes in the order the wire
carries them.
"""

from __future__ import annotations

import hashlib
import json
import math
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from lumenmap.core.errors import InputError
from lumenmap.core.files import finish_interrupted
from lumenmap.house.load import load_house
from lumenmap.pixels.build import map_pixels
from lumenmap.pixels.pixelmap import PixelMap
from lumenmap.power.anew import AnewBudget, budgets_anew
from lumenmap.power.certificate import BudgetFigures, Certificate, certificate

F = NDArray[np.float64]

#: Bytes read at once.
_BLOCK = 4 << 20
#: A sidecar is a page of text; a larger one is something else.
_LARGEST = 5_000_000
#: Counting whole steps of current leaves float rounding far below this (A).
_TINY = 1e-9
#: Frames over budget that are named; where there are more, these say enough.
_MOST = 20


@dataclass(slots=True)
class Rechecked:
    """What the bytes say.

    Attributes
    ----------
    certificate
        The figures counted from the bytes as they are.
    problems
        Plain sentences; empty if all is well.
    """

    certificate: Certificate
    problems: list[str] = field(default_factory=list)

    @property
    def good(self) -> bool:
        """Whether nothing was found wrong."""
        return not self.problems

    def report(self) -> dict[str, Any]:
        """Return the same as plain data: A, frames, frames/s."""
        c = self.certificate
        return {"frames": c.frames, "fps": c.fps, **c.report(), "problems": list(self.problems)}


def recheck(path: Path | str, house: Path | str | None = None) -> Rechecked:
    """Recompute amps and digest of exported frames.

    Parameters
    ----------
    path
        ``frames.json``; ``frames.rgb`` is read beside it.
    house
        The house file, if not the one that the sidecar names.

    Raises
    ------
    InputError
        A file is missing or unreadable, or does not fit the house.
    """
    path = Path(path)
    finish_interrupted(path.parent)
    side = _sidecar(path)
    home = load_house(Path(house) if house is not None else path.parent / side["house"])
    pixelmap = map_pixels(home)
    _fits(side, pixelmap, path)
    counted = _count(path.with_name("frames.rgb"), pixelmap, budgets_anew(home, pixelmap))
    found = Rechecked(
        certificate(
            home, pixelmap, frames=counted.frames, fps=float(side["fps"]), sha256=counted.sha256,
            rows=counted.rows(),
        )
    )  # fmt: skip
    found.problems += _problems(counted, side)
    beside = path.with_name("certificate.txt")
    if beside.exists() and beside.read_bytes() != found.certificate.text().encode():
        found.problems.append("certificate.txt does not say what the bytes do")
    return found


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
              "frames": int, "pixels": int, "channels": int, "lines": list, "sha256": str,
              "house": str, "fps": (int, float)}  # fmt: skip
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
    there = [(row.get("name"), row.get("first"), row.get("count"), row.get("order"))
             if isinstance(row, dict) else None for row in side["lines"]]  # fmt: skip
    here = [(s.name, s.first, s.count, s.order) for s in pixelmap.lines]
    if there != here:
        raise InputError(
            "differ from the house's lines; export the show again", file=path, key="lines"
        )


@dataclass(slots=True)
class _Counted:
    budgets: list[AnewBudget]
    frames: int = 0
    spare: int = 0
    sha256: str = ""
    peak: list[float] = field(default_factory=list)
    worst: list[int] = field(default_factory=list)
    nano: list[int] = field(default_factory=list)
    over: list[tuple[int, int, float]] = field(default_factory=list)

    def rows(self) -> list[BudgetFigures]:
        return [
            BudgetFigures(b.name, b.kind, b.limit, self.peak[k],
                          self.nano[k] / 1e9 / max(1, self.frames), self.worst[k])
            for k, b in enumerate(self.budgets)
        ]  # fmt: skip


def _count(raw: Path, pixelmap: PixelMap, budgets: list[AnewBudget]) -> _Counted:
    """Count amps and digest the bytes, a few megabytes at a time."""
    kind = pixelmap.kind
    size = len(pixelmap) * kind.channels
    currents = sorted(set(kind.channel_ma))
    weights = _weights(pixelmap, budgets, currents)
    idle = np.array([b.parts.sum() / 4096 * kind.idle_ma / 1000 for b in budgets])
    limits = np.array([b.limit for b in budgets])
    peak, worst = np.full(len(budgets), -1.0), np.zeros(len(budgets), int)
    nano, digest, found = np.zeros(len(budgets), np.int64), hashlib.sha256(), _Counted(budgets)
    try:
        with raw.open("rb") as file:
            while data := file.read(max(1, _BLOCK // size) * size):
                digest.update(data)
                whole = len(data) // size
                found.spare = len(data) - whole * size
                if not whole:
                    break
                values = np.frombuffer(data, np.uint8, whole * size).reshape(whole, size)
                amps = _amps(values.astype(np.float64), weights, currents) + idle
                high = amps.max(axis=0)
                worst = np.where(high > peak, amps.argmax(axis=0) + found.frames, worst)
                peak = np.maximum(peak, high)
                nano += np.rint(amps * 1e9).astype(np.int64).sum(axis=0)
                if len(found.over) < _MOST:
                    found.over += _over(amps, limits, found.frames)
                found.frames += whole
    except OSError as error:
        raise InputError(f"can't be read: {error.strerror or error}", file=raw) from None
    found.sha256 = digest.hexdigest()
    found.peak, found.worst = np.maximum(peak, 0).tolist(), worst.tolist()
    found.nano = nano.tolist()
    return found


def _amps(values: F, weights: list[F], currents: list[float]) -> F:
    """Return A above idle (T, K) of bytes (T, N·C) in wire order."""
    total = np.zeros((len(values), weights[0].shape[1]))
    for table, current in zip(weights, currents, strict=True):
        total += (values @ table) * (current / 1000 / 255 / 4096)
    return total


def _problems(counted: _Counted, side: dict[str, Any]) -> list[str]:
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
    for frame, k, amps in counted.over[:_MOST]:
        b = counted.budgets[k]
        found.append(
            f'frame {frame} ({frame / side["fps"]:.3f} s): {b.kind} "{b.name}" would draw '
            f"{amps:.3f} A; its budget is {b.limit:.3f} A"
        )
    return found


def _weights(
    pixelmap: PixelMap, budgets: list[AnewBudget], currents: list[float]
) -> list[NDArray[np.float64]]:
    """Return, for each distinct channel current, (N·C, K) parts for bytes in wire order."""
    kind = pixelmap.kind
    tables = [np.zeros((len(pixelmap), kind.channels, len(budgets))) for _ in currents]
    parts = np.array([b.parts for b in budgets], float).reshape(len(budgets), -1)
    for span in pixelmap.lines:
        for place, letter in enumerate(span.order):
            current = kind.channel_ma["RGBW".index(letter)]
            tables[currents.index(current)][span.slice, place] = parts[:, span.slice].T
    return [t.reshape(-1, len(budgets)) for t in tables]


def _over(amps: F, limits: F, first: int) -> list[tuple[int, int, float]]:
    frames, which = np.nonzero(amps > limits + _TINY)
    return [
        (int(f) + first, int(k), float(amps[f, k])) for f, k in zip(frames, which, strict=True)
    ][:_MOST]
