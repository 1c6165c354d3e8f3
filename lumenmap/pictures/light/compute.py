"""`compute`: the transport of light from a house's lamps into a picture."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor
from functools import partial
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from lumenmap.pictures.inner import SparseRows, product
from lumenmap.pictures.light.base import base_light
from lumenmap.pictures.light.bounce import bounced, falling
from lumenmap.pictures.light.images import lamp_images
from lumenmap.pictures.light.mesh import Mesh, mesh
from lumenmap.pictures.light.static import static_light
from lumenmap.pictures.light.transport import Transport
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
from lumenmap.pictures.scene.surface import Surface
from lumenmap.site import Site

F = NDArray[np.float64]
F32 = NDArray[np.float32]
Ints = NDArray[np.int64]

#: Light that may be missing at a node with all lamps lit. A picture of an exposure of 1 changes by
#: one code at five times as much (`drawn.preview.FAINT`); houses have 0.4 to 2.5.
FAINT = 3e-5


class _Unlit(NamedTuple):
    """A picture with all lamps off, (H·W, 3) linear, and what of lamps and faces is in it."""

    base: F32
    images: SparseRows
    seen_at: F32
    levels: F32
    nodes: Mesh


def compute(site: Site, camera: Camera, look: Look) -> Transport:
    """Work out the transport of a house's light into a camera's picture."""
    places, aims = lamp_places(site)
    surfaces = (*rails(places, site.pixels), *scene(site.house, look))
    lamps = Lamps(*(a.astype(np.float32) for a in (places, aims, site.pixels.lit)))
    starts = group_starts(site.pixels.edge)
    unlit = partial(_unlit, surfaces, lamps, places, camera, look)
    if look.time == "day":
        found = _by_day(unlit(), len(starts))
    else:
        found = _in_the_dark(unlit, surfaces, lamps, starts)
    (base, images, seen_at, levels, nodes), wash, colours = found
    share = (1 / np.diff([*starts, len(places)])).astype(np.float32)
    kept = _seen(wash, colours)
    return Transport(base, nodes.mix, images, kept, colours, starts, share, seen_at, levels)


def _unlit(
    surfaces: Sequence[Surface], lamps: Lamps, places: F, camera: Camera, look: Look
) -> _Unlit:
    raster = rasterise(surfaces, camera)
    images, seen_at, levels = lamp_images(lamps, raster, camera)
    seen = fragments(raster, camera, len(surfaces))
    del raster
    base, detail = base_light(surfaces, seen, look)
    nodes = mesh(surfaces, seen, detail, places)
    return _Unlit(base, images, seen_at, levels, nodes)


def _by_day(picture: _Unlit, groups: int) -> tuple[_Unlit, F32, F32]:
    """Return a picture with the wash (P, G) and the colours (P, 3) of its nodes, by day.

    Lamps aren't seen then, nor is what they light: the dark holes in the rail are.
    """
    base, images, nodes = picture.base, picture.images, picture.nodes
    bright = product(images, np.ones((images.columns, 1), np.float32))
    base *= 1 - 0.55 * np.minimum(bright, 1)
    dark = images._replace(data=np.zeros_like(images.data))
    wash = np.zeros((len(nodes.points), groups), np.float32)
    return picture._replace(images=dark), wash, nodes.colours


def _in_the_dark(
    unlit: Callable[[], _Unlit], surfaces: Sequence[Surface], lamps: Lamps, starts: Ints
) -> tuple[_Unlit, F32, F32]:
    """Return the same at dusk and by night."""
    shades = occluders(surfaces)
    with ThreadPoolExecutor(1) as beside:  # what faces throw on each other is in no picture yet
        later = beside.submit(falling, surfaces, lamps, starts, shades)
        picture = unlit()
        nodes = picture.nodes
        wash = wash_matrix(nodes.points, nodes.normals, lamps, starts, shades)
    bounce = bounced(later.result(), nodes)
    wash *= np.where(nodes.behind, PAST_RAIL, 1)[:, None].astype(np.float32)
    part = _part(bounce.wash.sum(1), wash.sum(1))
    wash += bounce.wash
    wash *= np.float32(STRENGTH)
    # The colour of a face, seen in the mixture of light that falls on it with all lamps lit.
    colours = nodes.colours * (1 + part[:, None] * (bounce.tint - 1))
    picture.base[:] += product(nodes.mix, static_light(nodes, surfaces, shades))
    return picture, wash, colours


def _seen(wash: F32, colours: F32) -> SparseRows:
    """Return what can be seen of the light (P, G) of groups of lamps."""
    kept = wash * colours.max(1)[:, None] > FAINT / max(1, wash.shape[1])
    columns = np.nonzero(kept)[1].astype(np.int32)
    ends = np.zeros(len(wash) + 1, np.int32)
    np.cumsum(kept.sum(1), out=ends[1:])
    return SparseRows(wash[kept], columns, ends, wash.shape[1])


def _part(some: F32, others: F32) -> F32:
    """Return what part (P,) one thing is of two, 0..1."""
    whole = some + others
    return np.asarray(np.divide(some, whole, out=np.zeros_like(whole), where=whole > 0), np.float32)
