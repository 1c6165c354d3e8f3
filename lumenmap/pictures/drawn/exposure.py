"""The exposure of pictures: one for a house and a time of day, whatever is shown and from where.

Strategy: as a photographer would who makes a series to be compared. Full white, as bright as the
house's budgets allow, is put just under the shoulder of the tone curve on the faces next to the
lamps; a show at a tenth of that light is then a tenth as bright in the picture. It takes as long as
to read the house, and is kept for as long as house and budgets stay as they are.
"""

from __future__ import annotations

import hashlib
import struct

import numpy as np
from numpy.typing import NDArray

from lumenmap.core.errors import InputError
from lumenmap.core.folders.cache import Cache
from lumenmap.parts.light import as_seen
from lumenmap.pictures.drawn.digest import site_digest
from lumenmap.pictures.drawn.transport import FORMAT
from lumenmap.pictures.scene.look import Time
from lumenmap.power.limits.budgets import Budgets, unlimited
from lumenmap.power.limits.limit import limit
from lumenmap.site import Site

F32 = NDArray[np.float32]

CACHE = Cache("exposures", entries=100, size=100_000)
#: How one is kept.
_KEPT = struct.Struct("<d")


def exposure(site: Site, time: Time, *, cache: bool = False) -> float:
    """Return what all light of a house's pictures is multiplied by at a time of day.

    The same for every show, view, size and surroundings, so that pictures can be compared.
    ``cache``: keep it in the user's cache folder, or have it from there.
    """
    if time == "day":
        return 1.0
    white = full_white(site)
    key = _digest(site, time, white) if cache else ""
    content = CACHE.get(key) if cache else None
    if content is not None and len(content) == _KEPT.size:
        return float(_KEPT.unpack(content)[0])
    from lumenmap.pictures.light.exposing import exposing  # with all that it takes

    found = exposing(site, time, white)
    if cache:
        CACHE.put(key, _KEPT.pack(found))
    return found


def _digest(site: Site, time: Time, white: F32) -> str:
    """Return 24 hexadecimal digits of all that an exposure depends on."""
    found = hashlib.sha256(f"{FORMAT} {time} {site_digest(site)}".encode())
    found.update(white.tobytes())
    return found.hexdigest()[:24]


def full_white(site: Site) -> F32:
    """Return (N, 3) the light of all pixels at white, dimmed until it is within every budget."""
    limited = limit(np.ones((1, len(site.pixels), 3), np.float32), budgets_of(site))
    seen = as_seen(limited.codes.astype(np.float32) / np.float32(255), site.house.kind)
    return np.asarray(seen[0], np.float32)


def budgets_of(site: Site) -> Budgets:
    """Return a site's budgets; none at all where its wiring has no solution yet."""
    try:
        return site.budgets
    except InputError:  # a picture doesn't need wiring that works; other commands say what's wrong
        return unlimited(site.pixels)
