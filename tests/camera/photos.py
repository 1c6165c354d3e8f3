"""Photographs of houses by day, marked; shows drawn on them, against the same houses by night.

``python -m tests.camera.photos [-o FOLDER] [--houses NAME …]`` prints, for each house and camera,
the error of the light in OKLab over the house, and the error without light; and writes pictures:
the photograph, what is drawn on it, what the house looks like, and the error, three times as bright.

The photograph is taken through OpenCV's lens, with noise, as JPEG; its camera is found from ten
marks that are 2 px of 1,920 off. The night is a rendering that the stage hasn't seen, through the same lens.
"""

from __future__ import annotations

import argparse
import tempfile
from dataclasses import dataclass
from pathlib import Path

import cv2
import numpy as np
from PIL import Image

from lumenmap.camera.lens.found import Search
from lumenmap.camera.lens.pose import find_shot
from lumenmap.camera.marks.points import named_points
from lumenmap.camera.stage.stage import HOUSE, Stage
from lumenmap.pictures.scene.camera import Camera
from lumenmap.pictures.scene.look import Look
from lumenmap.pictures.scene.raster import rasterise
from lumenmap.pictures.scene.scene import scene
from lumenmap.site import Site
from tests.camera.houses import house_text
from tests.camera.seen import error
from tests.camera.standing import Take, stand, unbent
from tests.camera.sun.daylight import Drawn, Traced
from tests.camera.test_shot import spread

EXAMPLES = Path(__file__).resolve().parents[2] / "examples"
HOUSES = ("marlow-bend", "juniper-flat", "fern-lane", "alder-cottage", "kelder-studio", "1", "6")
#: Marks, and how far each is off, as a part of the width: 2 px of 1,920.
MARKS, OFF = 10, 2 / 1920


@dataclass
class Pair:
    """What is drawn on a photograph, and what it should look like; (H, W, 3) sRGB codes."""

    photo: np.ndarray
    drawn: np.ndarray
    real: np.ndarray
    dark: np.ndarray
    house: np.ndarray

    @property
    def figures(self) -> tuple[float, float]:
        """The error over the house, and that of the same picture without light."""
        return error(self.drawn, self.real, self.house), error(self.dark, self.real, self.house)


def site_of(name: str, folder: Path) -> Site:
    """One of the examples, or one of the invented houses by its number, written to a folder."""
    if not name.isdigit():
        return Site.read(EXAMPLES / name / "house.toml")
    file = folder / "house.toml"
    file.write_text(house_text(int(name)))
    return Site.read(file)


def light_of(site: Site, rng: np.random.Generator) -> np.ndarray:
    """(N, 3) stretches of one colour, and dark ones between them."""
    stretch = np.arange(len(site.pixels)) // 40
    colours = rng.uniform(0, 1, (stretch.max() + 1, 3))
    colours[::3] = 0
    return colours[stretch].astype(np.float32)


def paired(
    site: Site, seed: int, width: int = 960, height: int = 540, seen: Drawn | Traced | None = None
) -> Pair:
    """Take the photograph, mark it, draw light on it, and look at the house by night."""
    take = Take(seed=seed, width=width, height=height)
    rng = take.rng
    standing = stand(site, take)
    camera, *bend = unbent(take, standing)

    def through_lens(flat: np.ndarray) -> np.ndarray:
        return cv2.remap(np.ascontiguousarray(flat), *bend, cv2.INTER_LINEAR)

    none = np.zeros((len(site.pixels), 3), np.float32)
    light = light_of(site, rng)
    seen = seen or Drawn(site)
    day = through_lens(seen.day(camera))
    night = through_lens(seen.night(camera, light))
    noisy = np.clip(day + rng.normal(0, 2.5, day.shape), 0, 255).astype(np.uint8)
    _, coded = cv2.imencode(".jpg", noisy, [cv2.IMWRITE_JPEG_QUALITY, 85])
    photo = cv2.imdecode(coded, cv2.IMREAD_COLOR)
    known = np.array([p.xyz for p in named_points(site.house).values()])
    at = standing.project(known)
    inside = np.flatnonzero(((at > 0) & (at < (width, height))).all(1))
    chosen = inside[spread(known[inside], min(MARKS, len(inside)))]
    angle = rng.uniform(0, 2 * np.pi, len(chosen))
    marked = at[chosen] + OFF * width * np.stack([np.cos(angle), np.sin(angle)], 1)
    lens = round(standing.matrix[0, 0] / width * 36)  # as a photograph's file gives it
    search = Search((width, height), lens, noise=OFF * width)
    shot = find_shot(known[chosen], marked, search).shot
    stage = Stage(site, photo, shot, width=width, look=Look("dusk"))
    # As the photograph is flattened: what the camera was thought to be moves both alike.
    real = np.rint(255 * shot.flatten((night / 255).astype(np.float32))).astype(np.uint8)
    return Pair(photo, stage.still(light), real, stage.still(none), faces(site, stage.camera))


def faces(site: Site, camera: Camera) -> np.ndarray:
    """(H, W) where walls and roofs are seen; windows are dark by day and lit by night."""
    surfaces = scene(site.house, Look(trees=False))
    kinds = np.array([*(s.kind in HOUSE for s in surfaces), False])
    return kinds[rasterise(surfaces, camera, samples=1).surface]


def main() -> None:
    ask = argparse.ArgumentParser(description=__doc__)
    ask.add_argument("-o", type=Path, default=None, help="a folder for pictures")
    ask.add_argument("--houses", nargs="*", default=HOUSES)
    ask.add_argument("--seed", type=int, default=1)
    asked = ask.parse_args()
    for k, name in enumerate(asked.houses):
        with tempfile.TemporaryDirectory() as folder:
            pair = paired(site_of(name, Path(folder)), asked.seed + k)
        found, unlit = pair.figures
        print(f"{name}: OKLab {found:.3f}, without light {unlit:.3f}", flush=True)
        if asked.o:
            apart = np.abs(pair.drawn.astype(int) - pair.real.astype(int)) * 3
            rows = np.vstack(
                [
                    np.hstack([pair.photo, pair.drawn]),
                    np.hstack([np.clip(apart, 0, 255).astype(np.uint8), pair.real]),
                ]
            )
            Image.fromarray(rows).save(asked.o / f"photo-{name}.png")


if __name__ == "__main__":
    main()
