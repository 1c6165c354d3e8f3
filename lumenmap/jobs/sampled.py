"""What a show's pictures are drawn from: some of its frames as light, and what draws its house."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from lumenmap.frames.evaluate import Light
from lumenmap.jobs.project import Project
from lumenmap.parts.light import as_seen
from lumenmap.power.limits.limit import Limited

if TYPE_CHECKING:
    from lumenmap.pictures.clip import Clip, Pictures
    from lumenmap.pictures.options import PreviewOptions

#: A looping preview is cut here (s): nobody watches a longer one.
PREVIEW_SECONDS = 30.0


class Sampler:
    """Keeps the codes of those frames that the preview shows, as the show streams by."""

    def __init__(self, project: Project, fps: float, seconds: float = PREVIEW_SECONDS) -> None:
        show = project.show
        self.fps = min(fps, show.fps)
        count = int(min(show.seconds, seconds) * self.fps) if fps else 0
        if fps:
            count = max(1, count)
        self._numbers = np.floor(np.arange(count) * show.fps / max(self.fps, 1e-9)).astype(int)
        pixels = project.site.pixels
        self._frame = len(pixels) * pixels.kind.channels
        self.count = count
        self.seen = 0
        self.kept: list[NDArray[np.uint8]] = []

    @property
    def bytes(self) -> int:
        """The memory that the kept frames will take."""
        return len(self._numbers) * self._frame

    @property
    def full(self) -> bool:
        """Whether every frame that is kept has passed."""
        return len(self.kept) == len(self._numbers)

    def passing(self, blocks: Iterable[Limited]) -> Iterator[Limited]:
        """Yield the blocks of a show as they come, and keep the preview's frames."""
        for got in blocks:
            self.add(got.codes)
            yield got

    def add(self, codes: NDArray[np.uint8]) -> None:
        """Keep the preview's frames of the next block (T, N, C)."""
        low, high = np.searchsorted(self._numbers, (self.seen, self.seen + len(codes)))
        self.kept += [codes[i - self.seen].copy() for i in self._numbers[low:high]]
        self.seen += len(codes)


def clip(
    project: Project, sampler: Sampler, as_powered: bool = False, *, channels: bool = False
) -> Clip:
    """Return what is drawn of a show: its codes as light, as it looks or of the ``channels``."""
    from lumenmap.pictures.clip import Clip
    from lumenmap.power.report.powered import as_powered as powered

    lit = powered(project.site) if as_powered else light_of

    def light(first: int, stop: int) -> Light:
        light = lit(np.stack(sampler.kept[first:stop]))
        return light if channels else seen(project, light)

    title = f"{project.show.name} on {project.site.house.name}"
    return Clip(project.site, title, sampler.fps, len(sampler.kept), light, project.show.sound)


@contextmanager
def made_ready(
    project: Project, options: PreviewOptions
) -> Iterator[Callable[[PreviewOptions], Pictures]]:
    """Give what draws the house in any size; of these options it is made beside other work.

    The light's way into the picture depends on the house alone.
    """
    with ThreadPoolExecutor(1, "pictures") as beside:
        view = beside.submit(options.viewed, project.site)

        def stage(asked: PreviewOptions) -> Pictures:
            return view.result() if asked.size == options.size else asked.viewed(project.site)

        yield stage


def seen(project: Project, light: Light) -> Light:
    """Return channel light (T, N, 3 or 4) as it looks: linear sRGB (T, N, 3).

    Light mixed to match the screen comes out as it was chosen; plain codes as they look on the
    house, where full white is most often too blue.
    """
    return as_seen(light, project.site.house.kind)


def light_of(codes: NDArray[np.uint8]) -> Light:
    """Return the light of codes (T, N, C) where every pixel has its volts: linear, 0..1."""
    return codes.astype(np.float32) * np.float32(1 / 255)
