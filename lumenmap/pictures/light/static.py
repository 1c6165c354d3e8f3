"""Constant lights: rooms behind windows, the street lamp."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from lumenmap.pictures.light.mesh import Mesh
from lumenmap.pictures.light.wash import wash_matrix
from lumenmap.pictures.scene.lamp import Lamps
from lumenmap.pictures.scene.surface import Surface, area_of

#: Share of a window's radiance that leaves the room: the visible part of a room is brighter than
#: the rest.
ROOM_GAIN = 0.5
#: A lantern shines in all directions, not only through its visible side.
LANTERN_GAIN = 14.0


def static_light(
    mesh: Mesh, surfaces: Sequence[Surface], shades: Sequence[Surface]
) -> NDArray[np.float32]:
    """Return (P, 3) radiance that windows and lanterns add at the mesh's nodes.

    A window counts as one small Lambertian source at its centre: accurate from about twice its
    width away, too bright nearer than that.
    """
    sources = [s for s in surfaces if any(s.glow) and s.kind != "curtain"]
    if not sources or not len(mesh.points):
        return np.zeros((len(mesh.points), 3), np.float32)
    places = np.array([s.corners.mean(0) + 0.15 * s.normal for s in sources], np.float32)
    facing = np.array([s.normal for s in sources], np.float32)
    gains = [LANTERN_GAIN if s.kind == "lantern" else ROOM_GAIN for s in sources]
    power = np.array(
        [np.multiply(s.glow, area_of(s) * gain) for s, gain in zip(sources, gains, strict=True)],
        np.float32,
    )
    lamps = Lamps(places, facing, np.ones(len(sources), np.float32))
    starts = np.arange(len(sources))
    share = wash_matrix(mesh.points, mesh.normals, lamps, starts, shades)
    return np.asarray(share @ power * mesh.colours, np.float32)
