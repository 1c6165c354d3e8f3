"""An effect or a palette tried on a house, without a show file: to play, and as one picture."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import asdict
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from lumenmap.colour.check import ALIKE_BELOW, CONFUSED, check
from lumenmap.colour.palettes import builtin
from lumenmap.jobs.preview import seen
from lumenmap.jobs.project import Project, render
from lumenmap.parts.kinds import PixelKind, pixel_kind
from lumenmap.parts.light import dies_of
from lumenmap.pixels.pixelmap import PixelMap
from lumenmap.show.effects.registry import Effect, effects
from lumenmap.show.palettes import named, shelf
from lumenmap.show.quick import find, quick
from lumenmap.site import Site

if TYPE_CHECKING:
    from PIL.Image import Image

    from lumenmap.pictures.light.preview import Preview

F = NDArray[np.float64]

#: The house that a beginner starts from, for those who have none yet.
STARTER = Path(__file__).parents[1] / "starter" / "feet" / "house.toml"
#: Palettes for effects that imitate something (our choice).
_NATURAL = {
    "eavesdrip": "frost",
    "flakefall": "frost",
    "hearth": "ember",
    "lagoon": "moonlit",
    "nightlong": "northern-sky",
    "northlight": "northern-sky",
    "peepers": "jack-o-lantern",
    "starfall": "moonlit",
    "still": "lamp-white",
    "summerstorm": "moonlit",
    "windflag": "tricolour",
}
_SECONDS = 8.0
#: Pixels of whoever names neither a kind nor a house.
_KIND = "ws2811-12v"


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
    found: Effect = find(effects(effect_folders), effect)
    colours = shelf().find(palette or _NATURAL.get(effect, "candlelight"))
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


def pixels_of(kind: str, house: Path | None) -> PixelKind:
    """Return a house's own pixels, or those of a kind if there is no house.

    Raises
    ------
    InputError
        No such kind, or anything wrong in the house file.
    """
    return pixel_kind(kind or _KIND) if house is None else Site.read(house).house.kind


def palette_picture(names: Sequence[str], show: Path | None, pixels: PixelKind) -> Image:
    """Draw palettes, by name, for a kind of pixel."""
    from lumenmap.pictures.charts.palette_sheet import palette_sheet, palette_tile

    found, dies = shelf(show), dies_of(pixels)
    headings = {r["name"]: f"{r['occasion']}, {r['when']}".rstrip(", ") for r in named(show)}
    tiles = []
    for name in names:
        palette = found.find(name)
        checked = check(palette, pixels.channel_ma, pixels.idle_ma, dies)
        tiles.append(palette_tile(palette, headings.get(name, ""), dies, checked))
    return palette_sheet(tiles)


def check_palette(
    name: str, show: Path | None, pixels: PixelKind
) -> tuple[dict[str, Any], list[str]]:
    """Return what is to be known of a palette on a kind of pixel: as data, and as lines."""
    palette = shelf(show).find(name)
    found = check(palette, pixels.channel_ma, pixels.idle_ma, dies_of(pixels))
    text = [s.text for s in palette.stops]
    lines = [f"{name} on {pixels.name}: {found.mean_amps * 1000:.1f} mA a pixel on average"]
    lines += [f"  {t}: {a * 1000:.1f} mA" for t, a in zip(text, found.amps, strict=True)]
    lines += [f"  {text[i]}: {why}" for i, why in found.not_shown.items()]
    eyes: dict[tuple[int, int], list[str]] = {}
    for vision, i, j in found.confused:
        eyes.setdefault((i, j), []).append(vision)
    lines += [
        f"  {text[i]} and {text[j]} look alike with {' or '.join(which)}"
        for (i, j), which in eyes.items()
    ]
    lines += [f"  {text[i]} and {text[j]} look alike to everybody" for i, j in found.alike]
    if found.confused or found.alike:
        lines.append(
            f"  (alike: CIEDE2000 below {CONFUSED:g} with a deficiency, as Machado et al. 2009 "
            f"simulate it, or below {ALIKE_BELOW:g})"
        )
    report = {"palette": name, "kind": pixels.name, "stops": text, **asdict(found)}
    return {**report, "thresholds": {"confused": CONFUSED, "alike": ALIKE_BELOW}}, lines
