"""lumenmap: compose, check and export light for addressable LED pixels on a real roofline.

The public names below are loaded when first used, so that importing the package costs nothing.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from lumenmap.core.errors import CheckError, InputError, LumenmapError
    from lumenmap.frames.evaluate import EffectError
    from lumenmap.jobs.export import check, export, make
    from lumenmap.jobs.limited import limited
    from lumenmap.jobs.preview import preview
    from lumenmap.jobs.project import Project, load, render
    from lumenmap.jobs.workers import workers
    from lumenmap.pictures.options import PreviewOptions
    from lumenmap.power.limits.limit import limit
    from lumenmap.show.compose import compose, cue, layer
    from lumenmap.site import Site
    from lumenmap.sound.labels import beats_of

#: Public name -> the module that holds it.
_WHERE = {
    "CheckError": "lumenmap.core.errors",
    "EffectError": "lumenmap.frames.evaluate",
    "InputError": "lumenmap.core.errors",
    "LumenmapError": "lumenmap.core.errors",
    "PreviewOptions": "lumenmap.pictures.options",
    "Project": "lumenmap.jobs.project",
    "Site": "lumenmap.site",
    "beats_of": "lumenmap.sound.labels",
    "check": "lumenmap.jobs.export",
    "compose": "lumenmap.show.compose",
    "cue": "lumenmap.show.compose",
    "export": "lumenmap.jobs.export",
    "layer": "lumenmap.show.compose",
    "limit": "lumenmap.power.limits.limit",
    "limited": "lumenmap.jobs.limited",
    "load": "lumenmap.jobs.project",
    "make": "lumenmap.jobs.export",
    "preview": "lumenmap.jobs.preview",
    "render": "lumenmap.jobs.project",
    "workers": "lumenmap.jobs.workers",
}

__all__ = [
    "CheckError",
    "EffectError",
    "InputError",
    "LumenmapError",
    "PreviewOptions",
    "Project",
    "Site",
    "__version__",
    "beats_of",
    "check",
    "compose",
    "cue",
    "export",
    "layer",
    "limit",
    "limited",
    "load",
    "make",
    "preview",
    "render",
    "workers",
]

__version__: str


def __getattr__(name: str) -> Any:
    import importlib
    from importlib import metadata

    value: Any
    if name == "__version__":
        value = metadata.version("lumenmap")
    elif name in _WHERE:
        value = getattr(importlib.import_module(_WHERE[name]), name)
    else:
        raise AttributeError(f"module 'lumenmap' has no attribute {name!r}")
    globals()[name] = value
    return value


def __dir__() -> list[str]:
    return sorted(__all__)
