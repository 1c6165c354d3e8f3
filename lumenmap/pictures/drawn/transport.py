"""`Transport`: how light gets from the lamps into the picture, computed once and cached.

Kept in the user's cache folder under a digest of everything it depends on, so that a changed house,
view or size never gets an old one.
"""

from __future__ import annotations

import hashlib
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy import sparse

from lumenmap.core.folders.cache import Cache
from lumenmap.pictures.drawn.digest import site_digest
from lumenmap.pictures.drawn.packing import packed, unpacked
from lumenmap.pictures.light.base import base_light
from lumenmap.pictures.light.bounce import bounced
from lumenmap.pictures.light.images import lamp_images
from lumenmap.pictures.light.mesh import mesh
from lumenmap.pictures.light.static import static_light
from lumenmap.pictures.light.wash import PAST_RAIL, group_starts, wash_matrix
from lumenmap.pictures.scene.ambient import STRENGTH
from lumenmap.pictures.scene.camera import Camera
from lumenmap.pictures.scene.fragments import fragments
from lumenmap.pictures.scene.lamp import Lamps
from lumenmap.pictures.scene.look import Look
from lumenmap.pictures.scene.rails import lamp_places, rails
from lumenmap.pictures.scene.raster import rasterise
from lumenmap.pictures.scene.scene import scene
from lumenmap.pictures.scene.shadow import occluders
from lumenmap.site import Site

F32 = NDArray[np.float32]

#: Increment when a change of the code changes pictures, so that old cache files aren't used.
FORMAT = 25
CACHE = Cache("pictures", entries=12, size=400_000_000)
#: A transport of more bytes isn't kept: it would push out all others, and take as much memory.
LARGEST = 120_000_000


@dataclass(frozen=True, slots=True, eq=False)
class Transport:
    """Light from lamps to picture.

    Attributes
    ----------
    base
        (H·W, 3) linear light without lamps.
    mix
        (H·W, P) sparse: mesh nodes to pixels of the picture.
    images
        (H·W, N) sparse: the image of each lamp.
    wash
        (P, G): radiance per group of lamps, before the colour of the face, with what other faces
        throw back on it.
    colours
        (P, 3): colour of the face under each node, tinted as that light is.
    starts, share
        (G,): first lamp of each group, and 1 / its number of lamps.
    places, levels
        (N, 2), (N,): position of each lamp in the picture, and brightness of its core.
    """

    base: F32
    mix: sparse.csr_array
    images: sparse.csr_array
    wash: F32
    colours: F32
    starts: NDArray[np.int64]
    share: F32
    places: F32
    levels: F32


def transport(site: Site, camera: Camera, look: Look, *, cache: bool = False) -> Transport:
    """Compute the transport, or read it from the cache."""
    if not cache:
        return _compute(site, camera, look)
    key = digest(site, camera, look)
    found = _load(key)
    if found is None:
        found = _compute(site, camera, look)
        _keep(key, found)
    return found


def _compute(site: Site, camera: Camera, look: Look) -> Transport:
    places, aims = lamp_places(site)
    pixelmap = site.pixels
    surfaces = (*rails(places, pixelmap), *scene(site.house, look))
    raster = rasterise(surfaces, camera)
    lamps = Lamps(*(a.astype(np.float32) for a in (places, aims, pixelmap.lit)))
    images, seen_at, levels = lamp_images(lamps, raster, camera)
    seen = fragments(raster, camera, len(surfaces))
    del raster
    base, detail = base_light(surfaces, seen, look)
    nodes = mesh(surfaces, seen, detail, places)
    del seen, detail
    colours = nodes.colours
    starts = group_starts(pixelmap.edge)
    share = 1 / np.diff([*starts, len(places)])
    if look.time == "day":
        # Lamps aren't seen by day, nor is what they light: the dark holes in the rail are.
        base *= 1 - 0.55 * np.minimum(images.sum(1), 1)[:, None]
        images = images * np.float32(0)
        wash = np.zeros((len(nodes.points), len(starts)), np.float32)
    else:
        shades = occluders(surfaces)
        with ThreadPoolExecutor(1) as beside:  # the two take about as long as each other
            later = beside.submit(bounced, surfaces, lamps, starts, shades, nodes)
            wash = wash_matrix(nodes.points, nodes.normals, lamps, starts, shades)
        bounce = later.result()
        wash *= np.where(nodes.behind, PAST_RAIL, 1)[:, None].astype(np.float32)
        part = _part(bounce.wash.sum(1), wash.sum(1))
        wash += bounce.wash
        wash *= np.float32(STRENGTH)
        # The colour of a face, seen in the mixture of light that falls on it with all lamps lit.
        colours = colours * (1 + part[:, None] * (bounce.tint - 1))
        base += nodes.mix @ static_light(nodes, surfaces, shades)
    # Half precision, as in the cache, so that the first picture has the bytes of the later ones.
    # It is 1 part in 2000, far below a step of the picture, and half the size.
    wash = np.minimum(wash, 60_000).astype(np.float16).astype(np.float32)
    return Transport(
        base,
        nodes.mix,
        images,
        wash,
        colours,
        starts,
        share.astype(np.float32),
        seen_at,
        levels,
    )


def _part(some: F32, others: F32) -> F32:
    """Return what part (P,) one thing is of two, 0..1."""
    whole = some + others
    return np.asarray(np.divide(some, whole, out=np.zeros_like(whole), where=whole > 0), np.float32)


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
        base, wash, colours, starts, share, places, levels, *rest = unpacked(content)
        mix, images = (_matrix(*rest[i : i + 4]) for i in (0, 4))
        return Transport(
            base, mix, images, wash.astype(np.float32), colours, starts, share, places, levels
        )
    except Exception:  # whole, but not as this version reads it: a cache must never stop the work
        CACHE.drop(key)
        return None


def _matrix(
    data: F32, indices: NDArray[np.int32], ends: NDArray[np.int32], shape: NDArray[np.int64]
) -> sparse.csr_array:
    made = sparse.csr_array((data, indices, ends), shape=tuple(shape))
    made.check_format()
    return made


def _keep(key: str, found: Transport) -> None:
    """Write a transport to the cache."""
    arrays: list[NDArray[Any]] = [found.base, found.wash.astype(np.float16), found.colours]
    arrays += [found.starts, found.share, found.places, found.levels]
    for matrix in (found.mix, found.images):
        arrays += [matrix.data, matrix.indices, matrix.indptr, np.array(matrix.shape)]
    if sum(array.nbytes for array in arrays) <= LARGEST:
        CACHE.put(key, packed(arrays))
