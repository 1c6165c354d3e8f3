"""lumenmap: compose, check and export light for addressable LED pixels on a real roofline.

The public names below are loaded when first used, so that importing the package costs nothing.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from lumenmap.core.errors import CheckError, InputError, LumenmapError
    from lumenmap.house.load import load_house
    from lumenmap.pipeline import Loaded, check, export, limited, load, make, preview, render
    from lumenmap.pixels.build import map_pixels
    from lumenmap.power.limit import limit

_WHERE = {
    "CheckError": "lumenmap.core.errors",
    "InputError": "lumenmap.core.errors",
    "Loaded": "lumenmap.pipeline",
    "LumenmapError": "lumenmap.core.errors",
    "check": "lumenmap.pipeline",
    "export": "lumenmap.pipeline",
    "limit": "lumenmap.power.limit",
    "limited": "lumenmap.pipeline",
    "load": "lumenmap.pipeline",
    "load_house": "lumenmap.house.load",
    "make": "lumenmap.pipeline",
    "map_pixels": "lumenmap.pixels.build",
    "preview": "lumenmap.pipeline",
    "render": "lumenmap.pipeline",
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
