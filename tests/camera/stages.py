"""Houses filmed as they blink, and a show predicted from that film, against the film of the show.

``python -m tests.camera.stages [-o FOLDER] [--houses NUMBER …]`` prints the error of the predicted
show in OKLab over what is lit, and the error without light; and writes pictures: the dark house,
the predicted show, the error, three times as bright, and the film of the show.
"""

from __future__ import annotations

import argparse
import tempfile
from pathlib import Path

import numpy as np
from PIL import Image

from lumenmap.camera.blinks.blinking import Blinking
from lumenmap.camera.blinks.groups import groups
from lumenmap.camera.faults.diagnose import Diagnosis, diagnose
from lumenmap.camera.film.frames import film_frames
from lumenmap.camera.film.read import read_film
from lumenmap.camera.film.still import Still, moved_onto
from lumenmap.camera.stage.film_stage import FilmStage
from lumenmap.camera.stage.kept import read_measured
from lumenmap.jobs import survey
from lumenmap.jobs.survey import Survey, keep_survey
from tests.camera.filming import Scene, film
from tests.camera.photos import light_of, site_of
from tests.camera.seen import error, oklab
from tests.camera.standing import Take


def staged(name: str, seed: int, folder: Path) -> dict[str, np.ndarray]:
    """Film a house blinking and in a show; return pictures of it, flat."""
    site = site_of(name, folder)
    count = len(site.pixels)
    blinking = Blinking(count, 3, 4, tuple(map(int, groups(site.pixels))))
    take = Take(
        seed=seed, width=960, height=540, hidden=0.0, reflections=0, glow=0.5, colour=True, crf=22
    )
    scene = Scene(site, take)
    film(folder / "blinks.mp4", scene, blinking.light(0.3))
    show = 0.3 * light_of(site, np.random.default_rng(seed))
    film(folder / "show.mp4", scene, np.tile(show, (8, 1, 1)))
    filmed = read_film(folder / "blinks.mp4", blinking)
    found: Diagnosis = diagnose(site, {"blinks.mp4": filmed})
    usual, survey.blinking_of = survey.blinking_of, lambda *_, **__: blinking
    try:
        keep_survey(Survey(site, found), folder / "night.npz", 0.3)
    finally:
        survey.blinking_of = usual
    measured = read_measured(folder / "night.npz")
    still = Still(np.rint(measured.dark.mean(-1)).astype(np.uint8))
    seen = []
    for frame in film_frames(folder / "show.mp4"):
        if take.before + 0.2 < frame.time < take.before + 0.6:
            move = still.move(frame.bright)
            assert move is not None
            seen.append(moved_onto(frame.colours(), move))
    flatten = measured.shot.flatten
    return {
        "dark": flatten((measured.dark / 255).astype(np.float32)) * 255,
        "drawn": FilmStage(site, measured, width=take.width, as_filmed=True).still(show),
        "own": FilmStage(site, measured, width=take.width).still(show),
        "real": flatten((np.mean(seen, axis=0) / 255).astype(np.float32)) * 255,
    }


def main() -> None:
    ask = argparse.ArgumentParser(description=__doc__)
    ask.add_argument("-o", type=Path, default=None, help="a folder for pictures")
    ask.add_argument("--houses", nargs="*", default=("kelder-studio", "1", "6"))
    ask.add_argument("--seed", type=int, default=21)
    asked = ask.parse_args()
    for k, name in enumerate(asked.houses):
        with tempfile.TemporaryDirectory() as folder:
            seen = staged(name, asked.seed + k, Path(folder))
        lit = np.linalg.norm(oklab(seen["real"]) - oklab(seen["dark"]), axis=-1) > 0.03
        found, unlit = (error(seen[key], seen["real"], lit) for key in ("drawn", "dark"))
        print(f"{name}: OKLab {found:.3f}, without light {unlit:.3f}", flush=True)
        if asked.o:
            apart = 3 * np.abs(seen["drawn"].astype(float) - seen["real"])
            rows = [[seen["own"], seen["drawn"]], [apart, seen["real"]]]
            sheet = np.vstack([np.hstack(row) for row in rows])
            Image.fromarray(np.clip(sheet, 0, 255).astype(np.uint8)).save(
                asked.o / f"stage-{name}.png"
            )


if __name__ == "__main__":
    main()
