"""`Transport`: how light gets from the lamps into the picture, computed once and cached.

Kept in the user's cache folder under a digest of everything it depends on, so that a changed house,
view or size never gets an old one.
"""

from __future__ import annotations

import hashlib
import io
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy import sparse

from lumenmap.core.folders.cache import Cache
from lumenmap.pictures.light.base import base_light
from lumenmap.pictures.light.digest import site_digest
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
FORMAT = 17
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
        (P, G): radiance per group of lamps, before the colour of the face.
    colours
        (P, 3): colour of the face under each node.
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
    starts = group_starts(pixelmap.edge)
    share = 1 / np.diff([*starts, len(places)])
    if look.time == "day":
        # Lamps aren't seen by day, nor is what they light: the dark holes in the rail are.
        base *= 1 - 0.55 * np.minimum(images.sum(1), 1)[:, None]
        images = images * np.float32(0)
        wash = np.zeros((len(nodes.points), len(starts)), np.float32)
    else:
        shades = occluders(surfaces)
        wash = wash_matrix(nodes.points, nodes.normals, lamps, starts, shades)
        wash *= STRENGTH * np.where(nodes.behind, PAST_RAIL, 1)[:, None].astype(np.float32)
        base += nodes.mix @ static_light(nodes, surfaces, shades)
    # Half precision, as in the cache, so that the first picture has the bytes of the later ones.
    # It is 1 part in 2000, far below a step of the picture, and half the size.
    wash = np.minimum(wash, 60_000).astype(np.float16).astype(np.float32)
    return Transport(
        base,
        nodes.mix,
        images,
        wash,
        nodes.colours,
        starts,
        share.astype(np.float32),
        seen_at,
        levels,
    )


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
        with np.load(io.BytesIO(content), allow_pickle=False) as kept:
            a = {name: kept[name] for name in kept.files}
        return Transport(
            a["base"],
            _matrix(a, "mix"),
            _matrix(a, "images"),
            a["wash"].astype(np.float32),
            a["colours"],
            a["starts"],
            a["share"],
            a["places"],
            a["levels"],
        )
    except Exception:  # whole, but not as this version reads it: a cache must never stop the work
        CACHE.drop(key)
        return None


def _matrix(a: dict[str, NDArray[Any]], name: str) -> sparse.csr_array:
    parts = (a[f"{name}.data"], a[f"{name}.indices"], a[f"{name}.indptr"])
    made = sparse.csr_array(parts, shape=tuple(a[f"{name}.shape"]))
    made.check_format()
    return made


def _keep(key: str, found: Transport) -> None:
    """Write a transport to the cache."""
    arrays: dict[str, Any] = {
        "base": found.base,
        "colours": found.colours,
        "starts": found.starts,
        "share": found.share,
        "places": found.places,
        "levels": found.levels,
        "wash": found.wash.astype(np.float16),
    }
    for name, matrix in (("mix", found.mix), ("images", found.images)):
        arrays |= {
            f"{name}.data": matrix.data,
            f"{name}.indices": matrix.indices,
            f"{name}.indptr": matrix.indptr,
            f"{name}.shape": np.array(matrix.shape),
        }
    if sum(array.nbytes for array in arrays.values()) > LARGEST:
        return
    out = io.BytesIO()
    np.savez(out, **arrays)
    CACHE.put(key, out.getvalue())
