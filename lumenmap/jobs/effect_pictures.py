"""Pictures of effects on a house: light over distance and time with moments, and all on a page."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from lumenmap.codes.flashing import FlashCounter
from lumenmap.colour.palettes import builtin
from lumenmap.core.errors import InputError
from lumenmap.core.files import whole_file
from lumenmap.frames.evaluate import Light
from lumenmap.jobs.project import Progress, Project, render
from lumenmap.jobs.sampled import light_of, seen
from lumenmap.jobs.trial import house_file, only, suited
from lumenmap.pictures.drawn.exposure import budgets_of
from lumenmap.pictures.scene.look import Look
from lumenmap.pictures.scene.view import View, ViewName
from lumenmap.pixels.pixelmap import PixelMap
from lumenmap.power.limits.limit import limit
from lumenmap.show.effects.registry import effects
from lumenmap.show.quick import quick
from lumenmap.site import Site

if TYPE_CHECKING:
    from PIL.Image import Image

    from lumenmap.pictures.drawn.preview import Preview
    from lumenmap.pictures.effects_page import Shown

F = NDArray[np.float64]

#: How much of an effect is drawn (s), and how much of it moves on the page, at so many frames/s.
_SECONDS, _MOVING, _FPS = 8.0, 4.0, 10.0
_FORMATS = {".png": "PNG", ".jpg": "JPEG", ".jpeg": "JPEG"}
_SUITS = ("fir-and-berry", "frost", "marigold-altar", "egg-hunt", "row-of-lamps", "full-moon")


@dataclass(frozen=True, slots=True)
class Setting:
    """How effects are drawn: surroundings, viewpoint, and the moment (s), if there is one.

    ``words``: what a command needs besides, to draw one of them as here, such as ``--house FILE``.
    """

    look: Look = field(default_factory=Look)
    view: ViewName | View | None = None
    at: float | None = None
    words: str = ""

    def view_of(self, site: Site, width: int) -> Preview:
        """Return the pictures of a house of so many pixels' width."""
        from lumenmap.pictures.drawn.preview import Preview

        return Preview(
            site, width=width, height=width * 9 // 16, view=self.view, look=self.look, cache=True
        )


def every_effect(
    house: Path | None, effect_folders: Iterable[Path] = (), on: Sequence[str] = ()
) -> list[Project]:
    """Lay each effect on the house, each with a palette that suits it."""
    site, colours = Site.read(house_file(house)), builtin()
    projects = []
    for i, (name, effect) in enumerate(effects(effect_folders).items()):
        palette = colours[suited(name, _SUITS[i % len(_SUITS)])]
        made = Project.of(quick(effect, palette, (), unit=site.house.unit), site)
        projects.append(only(made, on))
    return projects


def draw(
    path: Path,
    projects: Sequence[Project],
    setting: Setting | None = None,
    progress: Progress | None = None,
) -> None:
    """Draw trials on one house: as an image, two side by side, or as a page to choose from.

    Raises
    ------
    InputError
        An ending that isn't .png, .jpg or .html; a moment that isn't shown; a path that can't be
        written.
    """
    setting = setting or Setting()
    ending = path.suffix.lower()
    if ending == ".html":
        _page(path, projects, setting, progress)
    elif ending in _FORMATS:
        image = sheet(projects, setting, progress)
        with whole_file(path) as partial:
            image.save(partial, _FORMATS[ending])
    else:
        raise InputError("effects are drawn as .png, .jpg or .html", file=path)


def sheet(projects: Sequence[Project], setting: Setting, progress: Progress | None = None) -> Image:
    """Return distance × time along the wire, and moments on the house, of each trial."""
    from lumenmap.pictures.charts.spacetime import stack

    view = setting.view_of(projects[0].site, 400 if setting.at is None else 800)
    tiles = []
    for project in projects:
        tiles.append(_tile(project, setting, view))
        if progress:
            progress(len(tiles), len(projects))
    return stack(tiles, columns=min(2, len(tiles)))


def _tile(project: Project, setting: Setting, view: Preview) -> Image:
    from lumenmap.pictures.charts.spacetime import LightOverTime, effect_tile

    light, fps = _light(project), project.show.fps
    frames = len(light)
    if setting.at is not None:
        moments = [_frame(setting.at, frames, fps)]
    else:
        thirds = np.array_split(np.arange(frames), 3)
        bright = light.mean(axis=(1, 2), dtype=np.float64)
        moments = [int(third[np.argmax(bright[third])]) for third in thirds]
    effect, pixels = project.show.cues[0].layers[0].effect, project.site.pixels
    return effect_tile(
        effect.name,
        effect.summary,
        # The wires of several lines are drawn one after another.
        LightOverTime(light, pixels.along_line + _starts(pixels), frames / fps),
        unit=project.site.house.unit,
        stills=list(view.frames(light[moments])),
    )


def _page(
    path: Path, projects: Sequence[Project], setting: Setting, progress: Progress | None
) -> None:
    from lumenmap.pictures.effects_page import write_effects_page

    site = projects[0].site
    view = setting.view_of(site, 320)

    def shown() -> Iterator[Shown]:
        for number, project in enumerate(projects, 1):
            yield _shown(project, setting, view)
            if progress:
                progress(number, len(projects))

    write_effects_page(path, site.house.name, shown(), _FPS)


def _shown(project: Project, setting: Setting, view: Preview) -> Shown:
    from lumenmap.pictures.effects_page import Shown

    light, fps = _light(project), project.show.fps
    watch = FlashCounter(fps, project.site.flash_regions)
    watch.add(light)
    picked = (np.arange(int(_MOVING * _FPS)) * fps / _FPS).astype(int)
    bright = light[picked].mean(axis=(1, 2), dtype=np.float64)
    still = int(bright.argmax())
    if setting.at is not None:
        still = min(int(_frame(setting.at, len(light), fps) * _FPS / fps), len(picked) - 1)
    layer = project.show.cues[0].layers[0]
    effect = layer.effect
    frames = view.frames(light[picked])
    flashes = bool(watch.findings())
    command = f"lumenmap try {effect.name} -p {layer.palette.name} {setting.words}".rstrip()
    words = " ".join(effect.words)
    return Shown(effect.name, effect.summary, words, command, frames, still, flashes)


def _light(project: Project) -> Light:
    """Return what is drawn of a trial (T, N, 3), as it looks within the budgets."""
    frames = min(project.show.frames, round(_SECONDS * project.show.fps))
    budgets = budgets_of(project.site)
    codes = [limit(light, budgets).codes for light in render(project, stop=frames)]
    return seen(project, light_of(np.concatenate(codes)))


def _frame(at: float, frames: int, fps: float) -> int:
    if not 0 <= at * fps < frames:
        raise InputError(f"is {at:g} s; expected 0 to {frames / fps:g} s", key="at")
    return int(at * fps)


def _starts(pixels: PixelMap) -> F:
    """Return where the line of each pixel starts (m) when lines follow each other 2 m apart."""
    lengths = [line.length + 2.0 for line in pixels.lines]
    return np.asarray(np.cumsum([0.0, *lengths])[pixels.line])
