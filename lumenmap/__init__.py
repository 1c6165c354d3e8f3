"""lumenmap: compose, check and export light for addressable LED pixels on a real roofline.

The public names below are loaded when first used, so that importing the package costs nothing.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from lumenmap.core.errors import CheckError, InputError, LumenmapError
    from lumenmap.jobs.export import check, export, make
    from lumenmap.jobs.preview import preview
    from lumenmap.jobs.project import Project, limited, load, render
    from lumenmap.power.limits.limit import limit
    from lumenmap.site import Site

_WHERE = {
    "CheckError": "lumenmap.core.errors",
    "InputError": "lumenmap.core.errors",
    "LumenmapError": "lumenmap.core.errors",
    "Project": "lumenmap.jobs.project",
    "Site": "lumenmap.site",
    "check": "lumenmap.jobs.export",
    "export": "lumenmap.jobs.export",
    "limit": "lumenmap.power.limits.limit",
    "limited": "lumenmap.jobs.project",
    "load": "lumenmap.jobs.project",
    "make": "lumenmap.jobs.export",
    "preview": "lumenmap.jobs.preview",
    "render": "lumenmap.jobs.project",
}

__all__ = [
    "CheckError",
    "InputError",
    "LumenmapError",
    "Project",
    "Site",
    "check",
    "export",
    "limit",
    "limited",
    "load",
    "make",
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


def __dir__() -> list[str]:
    return sorted(__all__)
