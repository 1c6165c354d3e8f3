"""Twelve invented houses to film, and how their wires may run otherwise than their files say."""

from __future__ import annotations

import numpy as np

#: What a house's wires may be like; see `wired`.
FAULTS = (
    "reversed",
    "swapped",
    "other end",
    "order",
    "too many",
    "too few",
    "dark",
    "colours",
)

_MASS = """
[[mass]]
name = "{name}"
roof = "{roof}"
ridge = "{ridge}"
width = {width}
depth = {depth}
position = [{x}, {y}]
eave = {eave}
slope = "{slope}/12"
overhang = 0.4
[[mass.window]]
at = {at}
width = 1.2
height = 1.2
sill = 0.9
"""

_TOP = """
[house]
name = "{name}"
unit = "m"
[rail]
length = 2.4
hole_spacing = {spacing}
[pixel]
kind = "ws2811-12v"
"""

_END = """
[[supply]]
name = "wall"
volts = 12
amps = 20
"""

_FEED = """
[[feed]]
supply = "wall"
to = "{line}"
at = "start"
wire = "14 AWG stranded"
length = 3
fuse = 3
"""


def _mass(name, roof, ridge, width, depth, x, y, eave, slope):
    return _MASS.format(
        name=name,
        roof=roof,
        ridge=ridge,
        width=width,
        depth=depth,
        x=x,
        y=y,
        eave=eave,
        slope=slope,
        at=width / 2,
    )


def house_text(number: int, behind: bool = False) -> str:
    """The house file of one of twelve houses: a gable or hip, and a wing or porch, two lines.

    ``behind`` adds a line round its back.
    """
    rng = np.random.default_rng(1000 + number)
    spacing = (0.10, 0.12, 0.09)[number % 3]
    width, depth = round(float(rng.uniform(9, 12)), 1), round(float(rng.uniform(7, 9)), 1)
    eave, slope = round(float(rng.uniform(2.6, 3.4)), 1), int(rng.integers(6, 10))
    wing = round(float(rng.uniform(4, 5.5)), 1)
    out = round(float(rng.uniform(1.5, 3)), 1)
    roof = ("gable", "hip")[number % 2]
    text = _TOP.format(name=f"Invented house {number}", spacing=spacing)
    text += _mass("main", roof, "across", width, depth, 0, 0, eave, slope)
    left = number % 4 < 2
    x = 0.5 if left else width - wing - 0.5
    text += _mass(
        "wing", "gable", "away", wing, depth / 2 + out, round(float(x), 2), -out, eave - 0.4, slope
    )
    span = (
        f"start = {round(float(wing + 1.6), 2)}"
        if left
        else f"stop = {round(float(width - wing - 1.2), 2)}"
    )
    jump = "{ jumper = 25 }"
    text += f"""
[[line]]
name = "gable"
path = ["wing/rake-left", "wing/rake-right"]

[[line]]
name = "long"
path = [{{ edge = "main/eave-front", {span} }}, {jump}, """
    text += (
        '"main/ridge"]\n'
        if roof == "gable"
        else '"main/hip-front-left", { jumper = 25 }, "main/hip-front-right reversed"]\n'
    )
    names = ["gable", "long"]
    if behind:
        names.append("back")
        side = "rake-{}-back" if roof == "gable" else "hip-back-{}"
        right, left = (f"main/{side.format(way)}" for way in ("right", "left"))
        up = "" if roof == "gable" else " reversed"
        text += f"""
[[line]]
name = "back"
path = ["{right}{up}", {jump}, "main/eave-back", {jump}, "{left}"]
"""
    return text + _END + "".join(_FEED.format(line=name) for name in names)


def wired(site, fault: str | None, rng):
    """The holes in the order of each line's wire, and what was done: ``(wires, dark, orders, told)``.

    ``None`` in a wire is a pixel without a hole. ``told`` is the (kind, line or lines, edge) that
    should be found.
    """
    spans = site.pixels.lines
    wires = {s.name: list(range(s.first, s.first + s.count)) for s in spans}
    orders = {s.name: (0, 1, 2) for s in spans}
    dark: set[int] = set()
    runs = {x.line.name: [r for r in x.runs if r.count] for x in site.line_layouts}
    line = spans[int(rng.integers(len(spans)))]
    own = wires[line.name]
    told = (fault, line.name, "")
    if fault == "reversed":
        run = runs[line.name][int(rng.integers(len(runs[line.name])))]
        own[run.first : run.first + run.count] = own[run.first : run.first + run.count][::-1]
        told = (fault, line.name, run.item.edge)
    elif fault == "swapped":
        one, two = spans[0].name, spans[1].name
        wires[one], wires[two] = wires[two], wires[one]
        told = (fault, one, "")
    elif fault == "other end":
        own.reverse()
    elif fault == "order":
        a, b = runs[line.name][:2]
        rest = own[b.first + b.count :]
        wires[line.name] = (
            own[b.first : b.first + b.count] + own[a.first : a.first + a.count] + rest
        )
    elif fault in ("too many", "too few"):
        k = int(rng.integers(len(own) // 5, 3 * len(own) // 5))
        own[k:k] = [None]
        if fault == "too few":
            own[k : k + 2] = []
    elif fault == "dark":
        dark = {own[int(k)] for k in rng.choice(np.arange(6, len(own) - 6), 4, replace=False)}
    elif fault == "colours":
        orders[line.name] = [(1, 0, 2), (2, 1, 0), (1, 2, 0), (0, 2, 1)][int(rng.integers(4))]
    return wires, dark, orders, told


def on_holes(site, light, wires, dark, orders):
    """Light (T, N, 3) by holes, of light (T, N, 3) by pixels, as the wires carry it."""
    out = np.zeros_like(light)
    for span in site.pixels.lines:
        sent = light[:, span.slice]
        for k, hole in enumerate(wires[span.name][: span.count]):
            if hole is not None and hole not in dark:
                # What is sent as colour k shows as colour order[k].
                out[:, hole, list(orders[span.name])] = sent[:, k]
    return out
