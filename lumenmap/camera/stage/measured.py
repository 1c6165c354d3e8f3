"""`Measured`: how much light each group of pixels throws where, measured in a film.

Light adds up. Each picture of the blinking lights known pixels, so every place of the film gives as
many equations as there are pictures, for as many unknowns as there are groups: all groups are
measured at once, with the noise spread over all pictures (Schechner, Nayar and Belhumeur,
"Multiplexing for optimal lighting", 2007 [P]). The colours come from the pictures in which all
pixels show one channel.
"""

from __future__ import annotations

import io
import zipfile
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from lumenmap.camera.blinks.blinking import FPS, Blinking
from lumenmap.camera.film.read import SMALLER, Filmed, smaller
from lumenmap.camera.lens.shot import Shot
from lumenmap.colour.transfer import to_linear
from lumenmap.core.errors import InputError
from lumenmap.core.files import write_whole
from lumenmap.core.regular import read_regular
from lumenmap.pixels.pixelmap import PixelMap

F = NDArray[np.float64]
F32 = NDArray[np.float32]

#: Groups, at most; and never more than a quarter of the pictures, so that noise doesn't grow.
GROUPS = 28
#: How strongly unknowns are held down, relative to their own weight in the equations.
RIDGE = 0.05
#: Light below this part of the brightest isn't told from noise (linear).
FAINT = 4e-4
#: A picture's exposure is taken from places that are lit less than this part of all.
UNLIT = 0.4
#: Version of the kept file, and its largest size in bytes.
VERSION, LARGEST = 1, 100_000_000


@dataclass(frozen=True, slots=True, eq=False)
class Measured:
    """A house as a film shows it.

    Attributes
    ----------
    shot
        The film's camera.
    dark
        (H, W, 3) the house without light, sRGB codes.
    colours
        (3, h, w, 3) what all pixels add with one channel at full: linear, R, G and B.
    share
        (G, h, w) which part of that each group of pixels throws.
    starts
        (G,) the first pixel of each group.
    seen
        (N,) whether the film shows a pixel itself.
    house
        SHA-256 of the house file.
    """

    shot: Shot
    dark: NDArray[np.uint8]
    colours: F32
    share: F32
    starts: NDArray[np.int64]
    seen: NDArray[np.bool_]
    house: str


def groups(pixels: PixelMap, most: int = GROUPS) -> NDArray[np.int64]:
    """Return the first pixel of each group: neighbours on one edge, about as many in each."""
    size = -(-len(pixels) // max(1, most - len(np.unique(pixels.edge))))
    new = np.ones(len(pixels), bool)
    new[1:] = (pixels.edge[1:] != pixels.edge[:-1]) | (pixels.line[1:] != pixels.line[:-1])
    starts = np.flatnonzero(new)
    run = np.arange(len(pixels)) - np.repeat(starts, np.diff([*starts, len(pixels)]))
    return np.flatnonzero(run % size == 0)


def measure(
    film: Filmed,
    blinking: Blinking,
    codes: NDArray[np.uint8],
    pixels: PixelMap,
    house: str,
    shot: Shot,
) -> Measured:
    """Return the light of a filmed house.

    Parameters
    ----------
    codes
        (T, N, C) of the blinking as it was sent.
    house
        SHA-256 of the house file.
    """
    starts = groups(pixels, min(GROUPS, len(film.bits[1]) // 4))
    sent = codes[..., :3].astype(np.float64) / 255
    level = np.array(
        [_frame(sent, p.start, p.stop)[:, p.place].mean() for p in _channels(blinking)]
    )
    dark = smaller(to_linear(np.clip(film.dark, 0, 255) / 255).astype(np.float32))
    shown = to_linear(np.clip(film.colours[:3] + film.dark, 0, 255) / 255)
    colours = np.stack([smaller(c.astype(np.float32)) - dark for c in shown])
    colours = np.maximum(colours, 0) / np.maximum(level, 1e-3)[:, None, None, None]
    share = _shares(film, blinking, sent, starts)
    seen = np.zeros(len(pixels), bool)
    seen[film.spots.number] = True
    kept = np.clip(np.rint(film.dark), 0, 255).astype(np.uint8)
    return Measured(shot, kept, colours.astype(np.float32), share, starts, seen, house)


def _channels(blinking: Blinking) -> list[Any]:
    return [p for p in blinking.pictures if p.shows == "channel" and p.place < 3]


def _frame(sent: F, start: float, stop: float) -> F:
    """Return (N, 3) what was sent in the middle of a picture."""
    found: F = sent[int((start + stop) / 2 * FPS)]
    return found


def _shares(film: Filmed, blinking: Blinking, sent: F, starts: NDArray[np.int64]) -> F32:
    """Return (G, h, w) the part of each place's light that each group throws."""
    pictures, kinds = film.bits
    when = {(p.turn, p.place, p.inverse): p for p in blinking.pictures if p.shows == "bit"}
    timed = [when[(k.turn, k.place, k.inverse)] for k in kinds]
    lit = np.stack([_frame(sent, p.start, p.stop).mean(1) for p in timed])
    known = np.add.reduceat(lit, starts, axis=1)  # (K, G)
    # Each bit and its inverse together light all of a pass: the mean of a pass says nothing of the
    # groups, and goes out.
    turns = np.array([k.turn for k in kinds])
    flat = pictures.reshape(len(pictures), -1).astype(np.float64)
    flat = flat / _exposures(flat)[:, None]
    count = np.diff([*starts, lit.shape[1]])
    fixed = np.stack([(turns == t).astype(float) for t in np.unique(turns)], axis=1)
    known_left = known - fixed @ np.linalg.lstsq(fixed, known, rcond=None)[0]
    flat_left = flat - fixed @ np.linalg.lstsq(fixed, flat, rcond=None)[0]
    square: F = known_left.T @ known_left
    square += RIDGE * np.diag(np.diag(square) + 1e-9)
    each = np.linalg.solve(square, known_left.T @ flat_left)
    light = np.maximum(each, 0) * count[:, None]
    total = light.sum(0)
    floor = FAINT * max(float(np.quantile(total, 0.995)) / FAINT * 0.01, 1.0)
    part = light / (total + floor)
    shape = (len(starts), *pictures.shape[1:])
    return np.asarray(part.reshape(shape), np.float32)


def _exposures(flat: F) -> F:
    """Return (K,) each picture's exposure, relative to the mean, from places that hardly change."""
    mean = flat.mean(0)
    spread = flat.std(0) / np.maximum(mean, 1e-4)
    bright = mean > np.quantile(mean, 0.2)
    calm = bright & (spread <= np.quantile(spread[bright], UNLIT))
    return np.asarray(np.median(flat[:, calm] / np.maximum(mean[calm], 1e-6), axis=1))


def keep(measured: Measured, path: Path) -> None:
    """Write a measured house to a file.

    Raises
    ------
    InputError
        A path that can't be written.
    """
    shot = measured.shot
    out = io.BytesIO()
    np.savez_compressed(
        out,
        version=np.array(VERSION),
        position=shot.position,
        turn=shot.turn,
        lens=np.array([shot.focal, *shot.centre, *shot.radial]),
        dark=measured.dark,
        colours=measured.colours.astype(np.float16),
        share=measured.share.astype(np.float16),
        starts=measured.starts,
        seen=measured.seen,
        house=np.frombuffer(measured.house.encode(), np.uint8),
    )
    write_whole(path, out.getvalue())


def read_measured(path: Path) -> Measured:
    """Read a file that `keep` wrote.

    Raises
    ------
    InputError
        Missing, another kind of file, damaged, or of another version.
    """
    told = InputError("isn't a survey's kept stage; make it with lumenmap survey --keep", file=path)
    try:
        content = read_regular(path, LARGEST)
    except FileNotFoundError:
        raise InputError("no such file", file=path) from None
    try:
        with np.load(io.BytesIO(content), allow_pickle=False) as kept:
            if sum(item.file_size for item in kept.zip.infolist()) > 4 * LARGEST:
                raise told
            a = {name: kept[name] for name in kept.files}
        if int(a["version"]) != VERSION:
            raise InputError(f"has version {int(a['version'])}; expected {VERSION}", file=path)
        found = _read(a)
    except InputError:
        raise
    except (ValueError, KeyError, OSError, EOFError, TypeError, zipfile.BadZipFile) as error:
        raise told from error
    if not _sound(found):
        raise told
    return found


def _read(a: dict[str, Any]) -> Measured:
    focal, cx, cy, k1, k2 = (float(v) for v in a["lens"])
    h, w = a["dark"].shape[:2]
    shot = Shot(a["position"], a["turn"], focal, (cx, cy), (w, h), (k1, k2))
    return Measured(
        shot,
        a["dark"],
        a["colours"].astype(np.float32),
        a["share"].astype(np.float32),
        a["starts"],
        a["seen"],
        bytes(a["house"]).decode("ascii"),
    )


def _sound(m: Measured) -> bool:
    """Return whether shapes and numbers fit each other."""
    h, w = m.dark.shape[0] // SMALLER, m.dark.shape[1] // SMALLER
    arrays = (m.shot.position, m.shot.turn, m.colours, m.share)
    return (
        m.dark.dtype == np.uint8
        and m.dark.shape[2:] == (3,)
        and m.colours.shape == (3, h, w, 3)
        and m.share.shape == (len(m.starts), h, w)
        and m.shot.turn.shape == (3, 3)
        and m.shot.position.shape == (3,)
        and m.seen.dtype == np.bool_
        and len(m.starts) > 0
        and int(m.starts[0]) == 0
        and bool((np.diff(m.starts) > 0).all())
        and int(m.starts[-1]) < len(m.seen)
        and all(bool(np.isfinite(x).all()) for x in arrays)
        and m.shot.focal > 1
    )
