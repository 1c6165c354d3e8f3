"""The file in which a survey keeps the light that it measured: written whole, read warily."""

from __future__ import annotations

import io
from pathlib import Path
from typing import Any

import numpy as np

from lumenmap.camera.lens.shot import Shot
from lumenmap.camera.stage.measured import WIDEST, Measured
from lumenmap.core.errors import InputError
from lumenmap.core.files import write_whole
from lumenmap.core.regular import read_regular

#: Version of the kept file, and its largest size in bytes.
VERSION, LARGEST = 1, 100_000_000


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
        lamps=measured.lamps,
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
        "isn't what a survey keeps; make it with lumenmap survey --film FILM --keep FILE", file=path
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
        if any(value.dtype.kind not in "fiu" for value in a.values()):
            raise told
        found = _read(a)
        if not _sound(found):
            raise told
    except InputError:
        raise
    except Exception as error:  # zip, zlib, numpy and its headers' parser raise some ten kinds
        raise told from error
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
        a["lamps"].astype(np.float64),
        bytes(a["house"]).decode("ascii"),
    )


def _sound(m: Measured) -> bool:
    """Return whether shapes and numbers fit each other."""
    h, w = m.dark.shape[:2]
    small = m.share.shape[1:]
    arrays = (m.shot.position, m.shot.turn, m.colours, m.share)
    return (
        m.dark.dtype == np.uint8
        and m.dark.shape[2:] == (3,)
        and min(h, w) >= 16
        and max(h, w) <= WIDEST
        and m.colours.shape == (3, h, w, 3)
        and m.share.ndim == 3
        and m.starts.ndim == 1
        and m.starts.dtype.kind in "iu"
        and len(m.share) == len(m.starts) > 0
        and min(small) >= 8
        and small[0] <= h
        and small[1] <= w
        and m.shot.turn.shape == (3, 3)
        and m.shot.position.shape == (3,)
        and m.lamps.ndim == 2
        and m.lamps.shape[1:] == (2,)
        and int(m.starts[0]) == 0
        and bool((np.diff(m.starts) > 0).all())
        and int(m.starts[-1]) < len(m.lamps)
        and not bool(np.isinf(m.lamps).any())
        and all(bool(np.isfinite(x).all()) for x in arrays)
        and m.shot.focal > 1
    )
