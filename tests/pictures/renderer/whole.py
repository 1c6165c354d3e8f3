"""Whole pictures against Mitsuba's: the same faces in plain colours, the same lamps and sky.

``python -m tests.pictures.renderer.whole [--houses NAME …] [--time dusk]`` prints for each house and
kind of face how far the two look apart in OKLab, without the lamps and with all of them lit in
orange, and the sums of both, lumenmap's over Mitsuba's.
"""

from __future__ import annotations

import argparse
from dataclasses import replace
from pathlib import Path

import numpy as np

from lumenmap.pictures.drawn.exposure import exposure
from lumenmap.pictures.drawn.tone import STEPS, tone_table
from lumenmap.pictures.scene.ambient import STRENGTH
from lumenmap.pictures.scene.camera import Camera
from lumenmap.pictures.scene.garden import LAWN
from lumenmap.pictures.scene.sky import SKIES
from lumenmap.pictures.scene.view import view_camera
from lumenmap.site import Site
from tests.camera.seen import oklab
from tests.pictures.renderer.parts import (
    corners_of,
    diffuse,
    flat,
    ground,
    lamps,
    rgb,
    seen,
    shone,
    suns,
)
from tests.pictures.traced import KINDS, model_lux, plain

EXAMPLES = Path(__file__).resolve().parents[3] / "examples"
HOUSES = ("juniper-flat", "fern-lane", "alder-cottage")
#: Light at dusk, and by a hazy moon, comes from around its middle (as a part of 1 m away).
WIDE = 0.35
#: Bounces between faces.
BOUNCES = 4
ORANGE = (1.0, 0.55, 0.2)


def centred(site: Site, width: int, height: int) -> Camera:
    """The usual camera, with the principal point in the middle of a larger picture."""
    usual = view_camera(site, None, width, height)
    wide = 2 * int(np.ceil(max(usual.centre[0], width - usual.centre[0])))
    tall = 2 * int(np.ceil(max(usual.centre[1], height - usual.centre[1])))
    return replace(usual, centre=(wide / 2, tall / 2), width=wide, height=tall)


def plain_shapes(site: Site) -> list:
    """The house's faces and the ground, matt."""
    faces = [flat(corners_of(f), diffuse(f.colour)) for f in site.house.faces]
    return [*faces, flat(ground(site), diffuse(LAWN))]


class Both:
    """Linear light (H·W, 3) of a house, by lumenmap and by Mitsuba: without lamps, and of them.

    ``kind`` (H·W,) is the kind of face well inside of which a pixel is, or "".
    """

    def __init__(self, site: Site, time: str, width: int, samples: int) -> None:
        camera, shapes, sky = centred(site, width, width * 9 // 16), plain_shapes(site), SKIES[time]
        light = np.full((len(site.pixels), 3), ORANGE, np.float32)
        preview, surfaces, bounced = plain(site, camera.width, camera.height, camera, time)
        self.kind = model_lux(preview, surfaces, bounced, light)[2]
        parts = preview.parts
        groups = np.add.reduceat(light, parts.starts, axis=0) * parts.share[:, None]
        self.dark, self.lit = (
            parts.base,
            parts.mix.matrix() @ ((parts.wash.matrix() @ groups) * parts.colours),
        )
        dome = {"sky": {"type": "constant", "radiance": rgb(sky.ambient)}}
        dome |= suns(np.array(sky.towards), sky.beam, WIDE, 40)
        self.true_dark = seen(shapes, camera, dome, BOUNCES, samples).reshape(-1, 3)
        lit = lamps(site, light, STRENGTH)
        self.true_lit = shone(shapes, camera, lit, BOUNCES, 3 * samples).reshape(-1, 3)
        self._scale = exposure(site, time) * STEPS

    def apart(self, rows: np.ndarray, *, lamps: bool) -> float:
        """The mean distance in OKLab, as both look through lumenmap's tone curve."""
        table, each = tone_table(), []
        for dark, lit in ((self.dark, self.lit), (self.true_dark, self.true_lit)):
            light = (dark + lit * lamps)[rows]
            each.append(oklab(table[np.minimum(light * self._scale, 65535).astype(int)]))
        return float(np.linalg.norm(each[0] - each[1], axis=-1).mean())


def main() -> None:
    ask = argparse.ArgumentParser(description=__doc__)
    ask.add_argument("--houses", nargs="*", default=HOUSES)
    ask.add_argument("--time", default="dusk", choices=("dusk", "night"))
    ask.add_argument("--width", type=int, default=320)
    ask.add_argument("--samples", type=int, default=128, help="paths for each pixel")
    asked = ask.parse_args()
    for name in asked.houses:
        both = Both(
            Site.read(EXAMPLES / name / "house.toml"), asked.time, asked.width, asked.samples
        )
        for kind in (*KINDS, "all"):
            rows = np.isin(both.kind, KINDS if kind == "all" else kind)
            if rows.sum() > 10:
                print(
                    f"{name:14} {kind:7} {rows.sum():6}  OKLab without lamps "
                    f"{both.apart(rows, lamps=False):.4f}, lit {both.apart(rows, lamps=True):.4f}"
                    f"  sums {both.dark[rows].sum() / both.true_dark[rows].sum():.3f}, of lamps "
                    f"{both.lit[rows].sum() / both.true_lit[rows].sum():.3f}",
                    flush=True,
                )


if __name__ == "__main__":
    main()
