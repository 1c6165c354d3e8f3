"""Light in pictures of houses, against the independent renderer of `tests.pictures.tracer`.

``python -m tests.pictures.traced [--houses NAME …] [--width 480]`` prints for each house, with full
white and with one string alone, by what part the illuminance of walls, roofs, soffits and ground in
lumenmap's picture is off: the quantiles over what is seen of them, and the sum.
"""

from __future__ import annotations

import argparse
import time
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from lumenmap.pictures.drawn.preview import Preview
from lumenmap.pictures.light import compute as made
from lumenmap.pictures.scene.ambient import PIXEL_CANDELA, STRENGTH, UNIT
from lumenmap.pictures.scene.look import Look
from lumenmap.pictures.scene.rails import lamp_places, rails
from lumenmap.pictures.scene.raster import rasterise
from lumenmap.pictures.scene.scene import scene
from lumenmap.site import Site
from tests.pictures.tracer import Sky, World

EXAMPLES = Path(__file__).resolve().parents[2] / "examples"
HOUSES = (
    "marlow-bend",
    "juniper-flat",
    "fern-lane",
    "alder-cottage",
    "kelder-studio",
    "sallow-barn",
)
KINDS = ("wall", "soffit", "roof", "ground")


@dataclass
class Compared:
    """Illuminance (lux) at points seen in a picture: (K,) each.

    ``model`` is lumenmap's, ``straight`` what of it comes straight from the lamps; ``direct`` and
    ``bounced`` are the tracer's.
    """

    kind: np.ndarray
    name: np.ndarray
    pixel: np.ndarray
    xyz: np.ndarray
    model: np.ndarray
    straight: np.ndarray
    direct: np.ndarray
    bounced: np.ndarray

    @property
    def true(self):
        return self.direct + self.bounced


def plain(site, width, height, camera=None, time="night"):
    """A picture whose faces have no texture, its surfaces, and the bounced light in it."""
    usual, bounced, kept = made.base_light, made.bounced, []

    def smooth(surfaces, seen, look):
        base, detail = usual(surfaces, seen, look)
        return base, np.ones_like(detail)

    def recorded(*given):
        kept.append(bounced(*given))
        return kept[-1]

    made.base_light, made.bounced = smooth, recorded
    try:
        look = Look(time, trees=False)
        preview = Preview(site, width=width, height=height, view=camera, look=look)
    finally:
        made.base_light, made.bounced = usual, bounced
    places = lamp_places(site)[0]
    return preview, (*rails(places, site.pixels), *scene(site.house, preview.look)), kept[0]


def model_lux(preview, surfaces, bounced, light):
    """(H·W,) illuminance in the picture (lux), π L / ρ, and what of it is straight from the lamps.

    Then which pixels show one face of `KINDS`, and its name.
    """
    parts = preview.parts
    groups = np.add.reduceat(light, parts.starts, axis=0)[:, :3] * parts.share[:, None]
    shown = parts.mix.matrix() @ ((parts.wash.matrix() @ groups) * parts.colours)
    direct = parts.wash.matrix().toarray() - STRENGTH * bounced.wash
    straight = parts.mix.matrix() @ (direct @ groups.mean(1)) * UNIT
    which = rasterise(surfaces, preview.camera, samples=2).surface
    cells = which.reshape(preview.height, 2, preview.width, 2).transpose(0, 2, 1, 3).reshape(-1, 4)
    # Pixels of the picture well inside of a face: all samples and those around them.
    from scipy.ndimage import maximum_filter, minimum_filter

    one = cells[:, 0].reshape(preview.height, preview.width)
    inner = (minimum_filter(one, 3) == maximum_filter(one, 3)).ravel() & (one.ravel() >= 0)
    colour = np.array([*(s.colour for s in surfaces), (1, 1, 1)])[one.ravel()]
    kind = np.array([*(s.kind for s in surfaces), "sky"])[one.ravel()]
    name = np.array([*(s.name for s in surfaces), ""])[one.ravel()]
    lux = np.pi * UNIT * (shown / np.maximum(colour, 1e-6)).mean(1)
    return lux, straight, np.where(inner & np.isin(kind, KINDS), kind, ""), name


def compare(site, lights, *, width=480, height=270, most=1500, paths=64, seed=1):
    """`Compared` for each of some lights (N, 3), at points spread over the picture."""
    rng = np.random.default_rng(seed)
    preview, surfaces, bounced = plain(site, width, height)
    world = World(site, PIXEL_CANDELA)
    found = [model_lux(preview, surfaces, bounced, light) for light in lights]
    _, _, kind, name = found[0]
    chosen = np.concatenate(
        [
            rng.permutation(np.flatnonzero(kind == k))[
                : most // 2 if k in ("roof", "soffit") else most
            ]
            for k in KINDS
        ]
    )
    camera = preview.camera
    at = np.stack([chosen % width, chosen // width], -1) + 0.5
    ways = camera.rays(at)
    ways /= np.linalg.norm(ways, axis=1, keepdims=True)
    points, met = world.meet(np.broadcast_to(camera.position, ways.shape).copy(), ways)
    # What both see as the same kind of face; the garden's path and street lie on the ground.
    same = np.array([world.kind[o] for o in world.owner[points.triangle]]) == kind[chosen[met]]
    points, chosen = points[np.flatnonzero(same)], chosen[met][same]
    each = world.direct(points)
    out = []
    for light, (lux, straight, _, _) in zip(lights, found, strict=True):
        grey = light.mean(1)
        more = world.around(points, light, Sky(), rng, paths).mean(1)
        seen = (kind[chosen], name[chosen], chosen, points.xyz, lux[chosen], straight[chosen])
        out.append(Compared(*seen, each @ grey, more))
    return out


def lit_by(c, part=0.05):
    """Which points are lit at all: by more than this part of what is lit brightly."""
    return c.true > part * np.quantile(c.true, 0.95)


#: What of the model is compared with what of the tracer.
AGAINST = {"direct": "straight", "true": "model"}


def report(name, title, c, against):
    truth, model = np.maximum(getattr(c, against), 1e-9), getattr(c, AGAINST[against])
    for kind in KINDS:
        rows = (c.kind == kind) & lit_by(c)
        if rows.sum() < 10:
            continue
        off = model[rows] / truth[rows] - 1
        q = np.quantile(off, [0.05, 0.25, 0.5, 0.75, 0.95])
        total = model[rows].sum() / truth[rows].sum() - 1
        bounced = c.bounced[rows].sum() / c.true[rows].sum()
        print(
            f"{name:14} {title:10} {against:7} {kind:7} {rows.sum():5}  "
            + " ".join(f"{100 * v:+6.1f}" for v in q)
            + f"  |off| median {100 * np.median(np.abs(off)):5.1f} % 95 % {100 * np.quantile(np.abs(off), 0.95):6.1f} %"
            + f"  sum {100 * total:+6.1f} %  bounced {100 * bounced:4.1f} %",
            flush=True,
        )


def lights_of(site):
    """Full white, and the string (edge) with most pixels alone."""
    full = np.ones((len(site.pixels), 3), np.float32)
    edge = np.bincount(site.pixels.edge[site.pixels.edge >= 0]).argmax()
    return {"white": full, "one string": full * (site.pixels.edge == edge)[:, None]}


def main() -> None:
    ask = argparse.ArgumentParser(description=__doc__)
    ask.add_argument("--houses", nargs="*", default=HOUSES)
    ask.add_argument("--width", type=int, default=480)
    asked = ask.parse_args()
    for name in asked.houses:
        begun = time.perf_counter()
        site = Site.read(EXAMPLES / name / "house.toml")
        lights = lights_of(site)
        found = compare(
            site, list(lights.values()), width=asked.width, height=asked.width * 9 // 16
        )
        for title, c in zip(lights, found, strict=True):
            for against in AGAINST:
                report(name, title, c, against)
        print(f"  {time.perf_counter() - begun:.0f} s", flush=True)


if __name__ == "__main__":
    main()
