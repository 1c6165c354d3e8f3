"""What `preview --as-powered` shows: where the wiring takes light away, in words."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from lumenmap.core.lengths import show_about
from lumenmap.jobs.project import Project
from lumenmap.pictures.moments import show_moment
from lumenmap.power.report.powered import as_powered

#: Moments that are looked at.
_MOMENTS = 18
#: A pixel counts if its codes ask for this part of full light; a loss is seen from here on.
_LIT, _SEEN = 0.05, 0.03


def powered_words(project: Project, codes: Sequence[NDArray[np.uint8]], fps: float) -> list[str]:
    """Return what lack of voltage does to the frames of a preview, each (N, C), as sentences."""
    picked = np.unique(np.linspace(0, len(codes) - 1, min(len(codes), _MOMENTS)).astype(int))
    some = np.stack([codes[n] for n in picked])
    plain = some.astype(np.float64).sum(-1) / (255 * some.shape[-1])
    lit = plain > _LIT
    if not lit.any():
        return ["as powered: no pixel is lit at the moments looked at"]
    given = as_powered(project.site)(some)
    kept = np.where(lit, given.sum(-1) / some.shape[-1] / np.maximum(plain, 1e-9), 1.0)
    least = np.unravel_index(int(kept.argmin()), kept.shape)
    lost = 1 - float(kept[least])
    if lost < _SEEN:
        light = f"at least {100 * (1 - lost):.0f} %" if lost >= 0.005 else "all"
        return [
            f"as powered: every lit pixel keeps {light} of its light, so nothing looks different"
        ]
    moment = show_moment(float(picked[least[0]] / fps))
    return [
        f"as powered: {_place(project, int(least[1]))} keeps "
        f"{100 * (1 - lost):.0f} % of its light at "
        f"{moment}{_tint(some[least], given[least])}; of {project.site.pixels.lit.sum():,} pixels, "
        f"{(kept.min(0) < 1 - _SEEN).sum():,} lose more than {100 * _SEEN:.0f} %",
        "  lumenmap power reports the voltages; --suggest says where to feed more",
    ]


def _place(project: Project, n: int) -> str:
    pixels, unit = project.site.pixels, project.site.house.unit
    line = pixels.lines[pixels.line[n]]
    at = show_about(float(pixels.along_edge[n]), unit)
    edge = pixels.edge_names[pixels.edge[n]] if pixels.edge[n] >= 0 else "hidden"
    return f'line "{line.name}", pixel {n - line.first + 1} ({edge}, {at})'


def _tint(codes: NDArray[np.uint8], given: NDArray[np.float32]) -> str:
    """Return that a pixel looks warm, if red keeps more of its light than blue."""
    red, blue = (float(given[k]) / max(float(codes[k]) / 255, 1e-9) for k in (0, 2))
    return " and looks warm" if codes[0] > 0 and codes[2] > 0 and red > 1.1 * blue else ""
