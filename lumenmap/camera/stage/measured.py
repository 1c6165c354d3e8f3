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

F = NDArray[np.float64]
F32 = NDArray[np.float32]

#: Light below this part of the brightest isn't told from noise.
FAINT = 0.004
#: Places with less light than this part of the brightest aren't lit; fewer aren't asked.
UNLIT, FEWEST = 0.01, 100
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


def measure(
    film: Filmed,
    blinking: Blinking,
    codes: NDArray[np.uint8],
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
    sent = codes[..., :3].astype(np.float64) / 255
    level = np.array(
        [_frame(sent, p.start, p.stop)[:, p.place].mean() for p in _channels(blinking)]
    )
    dark = smaller(to_linear(np.clip(film.dark, 0, 255) / 255).astype(np.float32))
    shown = to_linear(np.clip(film.colours[:3] + film.dark, 0, 255) / 255)
    share, total = _shares(film, blinking, sent)
    added = [_added(smaller(c.astype(np.float32)), dark, total) for c in shown]
    colours = np.maximum(np.stack(added), 0) / np.maximum(level, 1e-3)[:, None, None, None]
    starts = np.array(blinking.starts, np.int64)
    seen = np.zeros(blinking.count, bool)
    seen[film.spots.number] = True
    kept = np.clip(np.rint(film.dark), 0, 255).astype(np.uint8)
    return Measured(shot, kept, colours.astype(np.float32), share, starts, seen, house)


def _channels(blinking: Blinking) -> list[Any]:
    return [p for p in blinking.pictures if p.shows == "channel" and p.place < 3]


def _frame(sent: F, start: float, stop: float) -> F:
    """Return (N, 3) what was sent in the middle of a picture."""
    found: F = sent[int((start + stop) / 2 * FPS)]
    return found


def _added(shown: F32, dark: F32, total: F32) -> F32:
    """Return (h, w, 3) what a picture adds to the dark house.

    A phone's exposure drifts; places that no pixel lights say by how much.
    """
    calm = total < UNLIT * float(np.quantile(total, 0.999))
    bright = dark.mean(-1)
    calm &= bright > np.median(bright)
    if calm.sum() < FEWEST:
        return shown - dark
    gain = float(np.median(shown.mean(-1)[calm] / bright[calm]))
    return np.asarray(shown / gain - dark, np.float32)


def _shares(film: Filmed, blinking: Blinking, sent: F) -> tuple[F32, F32]:
    """Return (G, h, w) the part of each place's light that each group throws, and (h, w) its sum.

    A row less its inverse is the sum of all groups' light, each with the row's sign; and the rows
    of a Hadamard matrix are orthogonal, so that a sum over rows gives each group.
    """
    rows = {p.place: p for p in blinking.pictures if p.shows == "group" and not p.inverse}
    signs = blinking.rows[sorted(rows), 1 : len(blinking.starts) + 1].astype(np.float64)
    # The limiter may have dimmed some rows.
    level = np.array([_frame(sent, rows[k].start, rows[k].stop).max() for k in sorted(rows)])
    shown = film.groups / np.maximum(level, 1e-3)[:, None, None].astype(np.float32)
    light = np.einsum("rg,rhw->ghw", signs, shown) / (2 * len(signs))
    # Without the row of ones, the mean of all groups is missing from each sum.
    light += light.sum(0) / max(1, len(signs) + 1 - len(light))
    light = np.maximum(light, 0)
    total = light.sum(0)
    floor = FAINT * float(np.quantile(total, 0.999))
    return np.asarray(light / (total + floor), np.float32), np.asarray(total, np.float32)


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
    told = InputError(
        "isn't a survey's kept stage; see lumenmap.jobs.survey.keep_survey", file=path
    )
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
