"""`transport`: how light gets from the lamps into the picture, computed once and cached.

Kept in the user's cache folder under a digest of everything it depends on, so that a changed house,
view or size never gets an old one.
"""

from __future__ import annotations

import hashlib
from typing import Any

import numpy as np
from numpy.typing import NDArray

from lumenmap.core.folders.cache import Cache
from lumenmap.pictures.drawn.digest import site_digest
from lumenmap.pictures.drawn.packing import packed, unpacked
from lumenmap.pictures.inner import SparseRows
from lumenmap.pictures.light.transport import Transport
from lumenmap.pictures.scene.camera import Camera
from lumenmap.pictures.scene.look import Look
from lumenmap.site import Site

#: Increment when a change of the code changes pictures, so that old cache files aren't used.
FORMAT = 28
CACHE = Cache("pictures", entries=12, size=400_000_000)
#: A transport of more bytes isn't kept: it would push out all others, and take as much memory.
LARGEST = 120_000_000


def transport(site: Site, camera: Camera, look: Look, *, cache: bool = False) -> Transport:
    """Compute the transport, or read it from the cache."""
    key = digest(site, camera, look) if cache else ""
    found = _load(key) if cache else None
    if found is None:
        from lumenmap.pictures.light.compute import compute  # with all that it takes

        found = compute(site, camera, look)
        if cache:
            _keep(key, found)
    return found


def digest(site: Site, camera: Camera, look: Look) -> str:
    """Return 24 hexadecimal digits of all that a transport depends on."""
    found = hashlib.sha256(f"{FORMAT} {look} {camera.focal} {camera.centre}".encode())
    found.update(f"{camera.width} {camera.height} {site_digest(site)}".encode())
    for array in (camera.position, camera.turn):
        found.update(array.tobytes())
    return found.hexdigest()[:24]


def _load(key: str) -> Transport | None:
    """Return a cached transport, or None if it is missing or damaged."""
    content = CACHE.get(key)
    if content is None:
        return None
    try:
        base, colours, starts, share, places, levels, *rest = unpacked(content)
        wash, mix, images = (_matrix(*rest[i : i + 4]) for i in (0, 4, 8))
        return Transport(base, mix, images, wash, colours, starts, share, places, levels)
    except Exception:  # whole, but not as this version reads it: a cache must never stop the work
        CACHE.drop(key)
        return None


def _matrix(
    data: NDArray[np.float32],
    indices: NDArray[np.integer],
    ends: NDArray[np.int32],
    shape: NDArray[np.int64],
) -> SparseRows:
    made = SparseRows(data, indices.astype(np.int32, copy=False), ends, int(shape[1]))
    made.check(int(shape[0]))
    return made


def _keep(key: str, found: Transport) -> None:
    """Write a transport to the cache."""
    arrays: list[NDArray[Any]] = [found.base, found.colours, found.starts]
    arrays += [found.share, found.places, found.levels]
    for matrix in (found.wash, found.mix, found.images):
        small = np.min_scalar_type(matrix.columns)  # most houses have fewer than 256 groups
        arrays += [matrix.data, matrix.indices.astype(small), matrix.indptr]
        arrays.append(np.array([matrix.rows, matrix.columns]))
    if sum(array.nbytes for array in arrays) <= LARGEST:
        CACHE.put(key, packed(arrays))
