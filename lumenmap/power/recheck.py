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

F = NDArray[np.float64]

#: Bytes read at once.
_BLOCK = 4 << 20
#: A sidecar is a page of text; a larger one is something else.
_LARGEST = 5_000_000
#: Counting whole steps of current leaves float rounding far below this (A).
_TINY = 1e-9


@dataclass(slots=True)
class Rechecked:
    """What the bytes say.

    Attributes
    ----------
    frames, fps
        Counted from the file; as the sidecar has it.
    sha256
        Of the bytes as they are.
    names, kinds, limits, peaks, means, worst
        For each budget: name, kind, A, A, A, and the frame of the peak.
    problems
        Plain sentences; empty if all is well.
    """

    frames: int
    fps: float
    sha256: str
    names: list[str]
    kinds: list[str]
    limits: list[float]
    peaks: list[float]
    means: list[float]
    worst: list[int]
    problems: list[str] = field(default_factory=list)

    @property
    def good(self) -> bool:
        """Whether nothing was found wrong."""
        return not self.problems

    def report(self) -> dict[str, Any]:
        """Return the same as plain data: A, frames, frames/s."""
        rows = zip(
            self.names, self.kinds, self.limits, self.peaks, self.means, self.worst, strict=True
        )
        keys = ("name", "kind", "amps", "peak", "mean", "worst_frame")
        return {
            "frames": self.frames,
            "fps": self.fps,
            "sha256": self.sha256,
            "budgets": [dict(zip(keys, row, strict=True)) for row in rows],
            "problems": list(self.problems),
        }


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
    return _count(path, side, pixelmap, budgets_anew(home, pixelmap))


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


def _count(
    path: Path, side: dict[str, Any], pixelmap: PixelMap, budgets: list[AnewBudget]
) -> Rechecked:
    raw = path.with_name("frames.rgb")
    kind = pixelmap.kind
    size = len(pixelmap) * kind.channels
    currents = sorted(set(kind.channel_ma))
    weights = _weights(pixelmap, budgets, currents)
    idle = np.array([b.parts.sum() / 4096 * kind.idle_ma / 1000 for b in budgets])
    limits = np.array([b.limit for b in budgets])
    peak, worst = np.full(len(budgets), -1.0), np.zeros(len(budgets), int)
    total, digest, done = np.zeros(len(budgets)), hashlib.sha256(), 0
    over: list[tuple[int, int, float]] = []
    try:
        with raw.open("rb") as file:
            while data := file.read(max(1, _BLOCK // size) * size):
                digest.update(data)
                values = np.frombuffer(data, np.uint8)
                values = values[: len(values) // size * size].reshape(-1, size).astype(np.float64)
                amps = idle.copy() + sum(
                    (values @ weights[c]) * (current / (1000 * 255 * 4096))
                    for c, current in enumerate(currents)
                )
                if not len(amps):
                    break
                best = amps.argmax(axis=0)
                high = amps.max(axis=0)
                worst = np.where(high > peak, best + done, worst)
                peak = np.maximum(peak, high)
                total += amps.sum(axis=0)
                over += _over(amps, limits, done) if len(over) < 20 else []
                done += len(amps)
            left = file.tell() % size
    except OSError as error:
        raise InputError(f"can't be read: {error.strerror or error}", file=raw) from None
    found = Rechecked(
        done, float(side["fps"]), digest.hexdigest(), [b.name for b in budgets],
        [b.kind for b in budgets], limits.tolist(), np.maximum(peak, 0).tolist(),
        (total / max(1, done)).tolist(), worst.tolist(),
    )  # fmt: skip
    if left or done != side["frames"]:
        found.problems.append(
            f"frames.rgb holds {done} whole frames{f' and {left} bytes' if left else ''}; "
            f"frames.json says {side['frames']}"
        )
    if found.sha256 != side["sha256"]:
        found.problems.append(
            "frames.rgb is not the file that frames.json speaks of: its SHA-256 is "
            f"{found.sha256}, not {side['sha256'][:64]}"
        )
    found.problems += [
        f'frame {frame} ({frame / found.fps:.3f} s): {budgets[k].kind} "{budgets[k].name}" '
        f"would draw {amps:.3f} A; its budget is {budgets[k].limit:.3f} A"
        for frame, k, amps in over[:20]
    ]
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
    ][:20]
