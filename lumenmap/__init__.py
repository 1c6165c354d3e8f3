"""lumenmap: compose, check and export light for addressable LED pixels on a real roofline.

The public names below are loaded when first used, so that importing the package costs nothing.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from lumenmap.core.errors import CheckError, InputError, LumenmapError
    from lumenmap.house.load import load_house
    from lumenmap.jobs.pipeline import Loaded, check, export, limited, load, make, preview, render
    from lumenmap.pixels.build import map_pixels
    from lumenmap.power.limits.limit import limit

_WHERE = {
    "CheckError": "lumenmap.core.errors",
    "InputError": "lumenmap.core.errors",
    "Loaded": "lumenmap.jobs.pipeline",
    "LumenmapError": "lumenmap.core.errors",
    "check": "lumenmap.jobs.pipeline",
    "export": "lumenmap.jobs.pipeline",
    "limit": "lumenmap.power.limits.limit",
    "limited": "lumenmap.jobs.pipeline",
    "load": "lumenmap.jobs.pipeline",
    "load_house": "lumenmap.house.load",
    "make": "lumenmap.jobs.pipeline",
    "map_pixels": "lumenmap.pixels.build",
    "preview": "lumenmap.jobs.pipeline",
    "render": "lumenmap.jobs.pipeline",
}

__all__ = [
    "CheckError",
    "InputError",
    "Loaded",
    "LumenmapError",
    "check",
    "export",
    "limit",
    "limited",
    "load",
    "load_house",
    "make",
    "map_pixels",
    "preview",
    "render",
]


def __getattr__(name: str) -> Any:
    if name not in _WHERE:
        raise AttributeError(f"module 'lumenmap' has no attribute {name!r}")
    import importlib

    value = getattr(importlib.import_module(_WHERE[name]), name)
    globals()[name] = value
    return value
