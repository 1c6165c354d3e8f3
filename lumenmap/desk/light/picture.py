"""The data of the house's picture for the browser, made once for a house and kept."""

from __future__ import annotations

import hashlib
import json
import threading

from threadpoolctl import threadpool_limits

from lumenmap.core.folders.cache import Cache
from lumenmap.core.system import give_back_memory
from lumenmap.desk.describe.house import HEIGHT, WIDTH
from lumenmap.desk.light.rendering import Rendering
from lumenmap.pictures.drawn.preview import Preview
from lumenmap.pictures.drawn.tone import KNEE
from lumenmap.pictures.drawn.transport import digest
from lumenmap.pictures.page_picture import picture_data
from lumenmap.pictures.scene.look import Look
from lumenmap.pictures.scene.view import view_camera
from lumenmap.site import Site

#: Increment when the data changes, so that old cache files aren't used.
FORMAT = 2
CACHE = Cache("desk", entries=12, size=100_000_000)


class Pictures:
    """Pictures of the houses that were open, by key; safe to use from several threads."""

    def __init__(self, rendering: Rendering) -> None:
        self._rendering = rendering
        self._lock = threading.Lock()
        self._keys: dict[int, tuple[Site, str]] = {}
        self._sites: dict[str, Site] = {}
        self._made: dict[str, bytes] = {}

    def address(self, site: Site | None) -> str:
        """Return where the picture's data of a house is had from."""
        return f"/picture/{self.key(site)}" if site is not None else ""

    def key(self, site: Site) -> str:
        """Return the key of a house's picture: another for another house."""
        known = self._keys.get(id(site))
        if known is None or known[0] is not site:
            camera = view_camera(site, "street", WIDTH, HEIGHT)
            # The lamps' order of channels doesn't change the picture, but their groups do.
            words = f"{FORMAT} {digest(site, camera, Look())} {site.house.kind.name}"
            key = hashlib.sha256(words.encode()).hexdigest()[:24]
            known = self._keys[id(site)] = site, key
            self._sites[key] = site
        return known[1]

    def data(self, key: str) -> bytes | None:
        """Return a picture's data as JSON; None for a key that was never given out."""
        site = self._sites.get(key)
        return None if site is None else self._of(key, site)

    def _of(self, key: str, site: Site) -> bytes:
        with self._lock:  # one at a time: it takes memory, and who comes second finds it made
            if key not in self._made:
                self._made = {key: CACHE.get(key) or _make(key, site)}
                give_back_memory()  # a picture takes many times what is kept of it
            return self._made[key]


def _make(key: str, site: Site) -> bytes:
    with threadpool_limits(1, "blas"):
        view = Preview(site, width=WIDTH, height=HEIGHT, cache=True)
        data = {
            "width": WIDTH,
            "height": HEIGHT,
            "pixels": len(site.pixels),
            "knee": KNEE,
            "screen": [round(float(v), 6) for v in site.dies.screen.flat],
            "lines": [
                {"first": s.first, "count": s.count, "order": s.order} for s in site.pixels.lines
            ],
            "channels": site.pixels.kind.channels,
            **picture_data(view, site.pixels),
        }
    text = json.dumps(data, separators=(",", ":")).encode()
    CACHE.put(key, text)
    return text
