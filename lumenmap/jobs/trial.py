"""An effect or a palette tried on a house, without a show file."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import asdict, replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

from lumenmap.colour.check import ALIKE_BELOW, CONFUSED, check
from lumenmap.core.errors import InputError
from lumenmap.jobs.project import Project
from lumenmap.parts.kind import PixelKind
from lumenmap.parts.kinds import pixel_kind
from lumenmap.parts.light import dies_of
from lumenmap.show.effects.effect import Effect
from lumenmap.show.effects.registry import effects
from lumenmap.show.palettes import named, shelf
from lumenmap.show.quick import find, quick
from lumenmap.site import Site

if TYPE_CHECKING:
    from PIL.Image import Image


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
    colours = shelf().find(palette or suited(effect, "candlelight"))
    show = quick(found, colours, given, unit=site.house.unit, seconds=seconds)
    return Project.of(show, site)


def only(project: Project, on: Sequence[str]) -> Project:
    """Return a trial on some places of its house alone; on all of it if none are named.

    Raises
    ------
    InputError
        A place that the house doesn't have; names the nearest.
    """
    if not on:
        return project
    cue = project.show.cues[0]
    layers = tuple(replace(layer, on=tuple(on)) for layer in cue.layers)
    show = replace(project.show, cues=(replace(cue, layers=layers),))
    try:
        return Project.of(show, project.site)
    except InputError as error:  # there is no file to name
        raise InputError(error.message, key="on") from None


def suited(effect: str, palette: str) -> str:
    """Return the palette that suits an effect by nature, else the one given."""
    return _NATURAL.get(effect, palette)


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
