"""An effect or a palette tried on a house, without a show file: to play, and as one picture."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import asdict
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from lumenmap.colour.check import check
from lumenmap.colour.palettes import builtin
from lumenmap.jobs.preview import seen
from lumenmap.jobs.project import Project, render
from lumenmap.parts.kinds import pixel_kind
from lumenmap.parts.light import dies_of
from lumenmap.pixels.pixelmap import PixelMap
from lumenmap.show.palettes import known, named
from lumenmap.show.quick import find, quick
from lumenmap.show.registry import Effect, effects
from lumenmap.site import Site

if TYPE_CHECKING:
    from PIL.Image import Image

    from lumenmap.pictures.light.preview import Preview

F = NDArray[np.float64]

#: The house that a beginner starts from, for those who have none yet.
STARTER = Path(__file__).parents[1] / "starter" / "feet" / "house.toml"
#: Palettes for effects that imitate something (fire and sky, from memory).
_NATURAL = {"hearth": "ember", "northlight": "northern-sky", "still": "lamp-white"}
_SECONDS = 8.0


def house_file(given: Path | None) -> Path:
    """Return the house to try things on: the one given, ``house.toml`` here, or the starter."""
    if given is not None:
        return given
    here = Path("house.toml")
    return here if here.exists() else STARTER


def trial(
    effect: str = "gradient",
    palette: str = "",
    given: Iterable[str] = (),
    *,
    house: Path | None = None,
    effect_folders: Iterable[Path] = (),
    seconds: float = 12.0,
) -> Project:
    """Lay one effect on a whole house; what comes back renders and previews as any show.

    Parameters
    ----------
    effect, palette
        Their names; the palette is one that suits the effect if left out.
    given
        Options as ``name=value``.
    house
        The house file; see `house_file`.

    Raises
    ------
    InputError
        Anything that is not known, with the nearest that is.
    """
    site = Site.read(house_file(house))
    found: Effect = find(effects(effect_folders), "effect", effect)
    colours = find(builtin(), "palette", palette or _NATURAL.get(effect, "candlelight"))
    show = quick(found, colours, given, unit=site.house.unit, seconds=seconds)
    return Project.of(show, site)


def picture(project: Project, view: Preview | None = None) -> Image:
    """Draw what a trial does: distance × time along the wire, and moments on the house."""
    from lumenmap.pictures.charts.spacetime import LightOverTime, effect_tile
    from lumenmap.pictures.light.preview import Preview

    view = view or Preview(project.site, width=400, height=225)
    frames = min(project.show.frames, round(_SECONDS * project.show.fps))
    light = seen(project, np.concatenate(list(render(project, stop=frames))))
    thirds = np.array_split(np.arange(frames), 3)
    bright = light.mean(axis=(1, 2), dtype=np.float64)
    moments = [int(third[np.argmax(bright[third])]) for third in thirds]
    layer = project.show.cues[0].layers[0]
    return effect_tile(
        layer.effect.name,
        layer.effect.summary,
        # The wires of several lines are drawn one after another.
        LightOverTime(
            light,
            project.site.pixels.along_line + _starts(project.site.pixels),
            frames / project.show.fps,
        ),
        unit=project.site.house.unit,
        stills=list(view.frames(light[moments])),
    )


def _starts(pixels: PixelMap) -> F:
    """Return where the line of each pixel starts (m) when lines follow each other 2 m apart."""
    lengths = [line.length + 2.0 for line in pixels.lines]
    return np.asarray(np.cumsum([0.0, *lengths])[pixels.line])


def contact_sheet(projects: Sequence[Project]) -> Image:
    """Draw many trials on one house, two side by side."""
    from lumenmap.pictures.charts.spacetime import stack
    from lumenmap.pictures.light.preview import Preview

    view = Preview(projects[0].site, width=400, height=225)
    return stack([picture(p, view) for p in projects], columns=2)


def every_effect(house: Path | None, effect_folders: Iterable[Path] = ()) -> list[Project]:
    """Lay each effect on the house, each with a palette that suits it."""
    site, colours = Site.read(house_file(house)), builtin()
    suits = ["fir-and-berry", "frost", "marigold-altar", "egg-hunt", "row-of-lamps", "full-moon"]
    projects = []
    for i, (name, effect) in enumerate(effects(effect_folders).items()):
        palette = colours[_NATURAL.get(name, suits[i % len(suits)])]
        projects.append(Project.of(quick(effect, palette, (), unit=site.house.unit), site))
    return projects


def palette_picture(names: Sequence[str], show: Path | None, kind: str) -> Image:
    """Draw palettes, by name, for a kind of pixel."""
    from lumenmap.pictures.charts.palette_sheet import palette_sheet, palette_tile

    row, found = pixel_kind(kind), known(show)
    headings = {r["name"]: f"{r['occasion']}, {r['when']}".rstrip(", ") for r in named(found)}
    tiles = []
    for name in names:
        palette = find(found, "palette", name)
        checked = check(palette, row.channel_ma, row.idle_ma)
        dies = dies_of(row)
        tiles.append(palette_tile(palette, headings[name], dies, checked))
    return palette_sheet(tiles)


def check_palette(name: str, show: Path | None, kind: str) -> tuple[dict[str, Any], list[str]]:
    """Return what is to be known of a palette on a kind of pixel: as data, and as lines."""
    row = pixel_kind(kind)
    palette = find(known(show), "palette", name)
    found = check(palette, row.channel_ma, row.idle_ma)
    text = [s.text for s in palette.stops]
    lines = [f"{name} on {kind}: {found.mean_amps * 1000:.1f} mA a pixel on average"]
    lines += [f"  {t}: {a * 1000:.1f} mA" for t, a in zip(text, found.amps, strict=True)]
    lines += [f"  {text[i]}: {why}" for i, why in found.not_shown.items()]
    lines += [
        f"  {text[i]} and {text[j]} look the same with {kind_}" for kind_, i, j in found.confused
    ]
    lines += [f"  {text[i]} and {text[j]} are nearly the same" for i, j in found.alike]
    return {"palette": name, "kind": kind, "stops": text, **asdict(found)}, lines
