"""Effects, palettes and cues as the page needs them: every option as a control."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import numpy as np

from lumenmap.colour.check import check
from lumenmap.colour.palette import Palette
from lumenmap.colour.palettes import rows
from lumenmap.colour.transfer import to_srgb
from lumenmap.desk.describe.controls import option, values
from lumenmap.desk.describe.hidden import pixels_of
from lumenmap.desk.describe.keys import LAYER, layer_keys, turns_values
from lumenmap.desk.wire import facts
from lumenmap.jobs.project import Project
from lumenmap.parts.kind import PixelKind
from lumenmap.show.effects.effect import Effect
from lumenmap.show.model import Show

#: Colours of a palette's strip.
_STRIP = 32
#: Colours by which a show is known, and the palettes that they are of, at most.
_COLOURS, _PALETTES = 8, 3


def effect_facts(known: Mapping[str, Effect], unit: str) -> list[facts.Effect]:
    """Return all effects with their options, in the house's unit."""
    return [
        facts.Effect(
            name=effect.name,
            summary=effect.summary,
            source=effect.source,
            options=[option(spec, unit) for spec in effect.options.values()],
        )
        for effect in known.values()
    ]


def palette_facts(palettes: Mapping[str, Palette], *, own: bool) -> list[facts.Palette]:
    """Return palettes with their stops and a strip of colours."""
    known = {row.name: row for row in rows()}
    found = []
    for name, palette in palettes.items():
        row = None if own else known.get(name)
        found.append(
            facts.Palette(
                name=name,
                occasion=row.occasion if row else "",
                when=row.when if row else "",
                own=own,
                stops=[
                    facts.Stop(colour=s.text, at=float(s.at), rgb=_rounded(s.rgb))
                    for s in palette.stops
                ],
                space=palette.space,
                hue=palette.hue,
                cyclic=palette.cyclic,
                steps=palette.steps,
                strip=strip(palette),
            )
        )
    return found


def palettes_of(named: Mapping[str, Any]) -> list[facts.Palette]:
    """Return the palettes that a show file defines, those that no layer uses too."""
    made = {}
    for name, table in named.items():
        keys = ("space", "hue", "cyclic", "steps")
        given = {k: table[k] for k in keys if k in table}
        made[name] = Palette(name, table["stops"], **given)
    return palette_facts(made, own=True)


def _rounded(rgb: Any) -> tuple[float, float, float]:
    r, g, b = (round(float(v), 5) for v in rgb)
    return r, g, b


def strip(palette: Palette) -> list[str]:
    """Return colours along a palette as ``#rrggbb``."""
    light = palette(np.arange(_STRIP) / _STRIP)
    codes = np.round(np.clip(to_srgb(light), 0, 1) * 255).astype(int)
    return [f"#{r:02x}{g:02x}{b:02x}" for r, g, b in codes]


def colours(show: Show) -> list[str]:
    """Return a few colours of a show, by which it is known again in a list."""
    used = {id(layer.palette): layer.palette for cue in show.cues for layer in cue.layers}
    palettes = list(used.values())[:_PALETTES]
    step = _STRIP * len(palettes) // _COLOURS if palettes else 1
    return [colour for palette in palettes for colour in strip(palette)[:: max(step, 1)]]


def palette_check(palette: Palette, kind: PixelKind) -> facts.PaletteCheck:
    """Return what a kind of pixel makes of a palette, in sentences."""
    found = check(palette, kind.channel_ma, kind.idle_ma)
    text = [s.text for s in palette.stops]
    said = [f"{text[i]}: {why}" for i, why in found.not_shown.items()]
    said += [f"{text[i]} and {text[j]} look alike" for i, j in found.alike]
    said += [f"{text[i]} and {text[j]} look alike to {who}" for who, i, j in found.confused]
    return facts.PaletteCheck(amps=found.mean_amps, stop_amps=found.amps, findings=said)


def cue_facts(project: Project) -> list[facts.Cue]:
    """Return the cues of a show with every option of their layers."""
    unit = project.site.house.unit
    lit = {key: int(mask.sum()) for key, mask in pixels_of(project).items()}
    found = []
    for cue in project.show.cues:
        layers = [
            facts.Layer(
                effect=layer.effect.name,
                palette=layer.palette.name,
                on=list(layer.on),
                without=list(layer.without),
                pixels=lit.get(layer.key, 0),
                blend=layer.blend,
                values=values(layer.effect.options, layer.options, unit),
                keys=values(LAYER, layer_keys(layer), unit),
                turns=turns_values(layer, unit),
            )
            for layer in cue.layers
        ]
        found.append(
            facts.Cue(
                name=cue.name,
                start=cue.start,
                length=cue.length,
                fade_in=cue.fade_in,
                fade_out=cue.fade_out,
                layers=layers,
            )
        )
    return found
