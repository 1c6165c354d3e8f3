"""A survey: the blinking that is filmed, and what a film of it says of the house."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from lumenmap.camera.blinks.blinking import FPS, Blinking
from lumenmap.camera.blinks.groups import groups
from lumenmap.camera.faults.report import Diagnosis, diagnose
from lumenmap.camera.film.read import Filmed, read_film
from lumenmap.codes.flashes import ADVICE
from lumenmap.codes.flashing import FlashCounter
from lumenmap.codes.order import to_wire
from lumenmap.controller.files.frameset import FrameLine, FrameSet
from lumenmap.core.errors import CheckError, InputError
from lumenmap.core.files import check_replaceable
from lumenmap.jobs.project import Progress
from lumenmap.parts.light import as_seen
from lumenmap.power.limits.limit import limit
from lumenmap.site import Site

#: Bright enough for a phone after dusk, dim enough that little clips [C]; and the brightest.
BRIGHTNESS, MOST_BRIGHTNESS = 0.2, 0.5
#: The ending of what is kept of a survey.
KEPT = ".npz"
#: If more of what is lit is too bright for the film, that is told [C].
CLIPPED = 0.15


@dataclass(frozen=True, slots=True, eq=False)
class Survey:
    """A film that was read: the house, what the film shows, and what follows from it."""

    site: Site
    film: Filmed
    diagnosis: Diagnosis


def blinking_of(site: Site, *, measured: bool = False) -> Blinking:
    """Return the blinking of a house; with groups at its end if light is ``measured``.

    They take about 13 s. The light of pixels with a white channel isn't measured.
    """
    measured = measured and site.pixels.kind.channels == 3
    starts = tuple(map(int, groups(site.pixels))) if measured else ()
    return Blinking(len(site.pixels), site.pixels.kind.channels, starts=starts)


def blinking_frames(house: Path, brightness: float = BRIGHTNESS) -> tuple[FrameSet, list[str]]:
    """Return the blinking as frames inside the house's budgets, and how to film it.

    Raises
    ------
    InputError
        Anything wrong with the house, or too bright.
    DangerError
        Its wiring is dangerous.
    CheckError
        The blinking flashes too often.
    """
    if not 0 < brightness <= MOST_BRIGHTNESS:
        raise InputError(
            f"is {brightness:g}; expected more than 0, at most {MOST_BRIGHTNESS:g}: brighter "
            "pixels run into each other in a film",
            key="brightness",
        )
    site = Site.read(house)
    site.verdict.require_safe()
    blinking = blinking_of(site, measured=True)
    codes = _codes(site, blinking, brightness)
    watch = FlashCounter(FPS, site.flash_regions)
    watch.add(as_seen(codes.astype(np.float32) / np.float32(255), site.house.kind))
    if found := watch.findings():
        raise CheckError(f"the blinking isn't sent: {found[0]}. {ADVICE}")
    spans = site.pixels.lines
    wired = to_wire(codes, [(s.slice, s.order) for s in spans])
    lines = tuple(FrameLine(s.name, s.first, s.count, s.universe, s.order) for s in spans)
    return FrameSet(wired, FPS, lines, house=site.house.file), _how_to_film(blinking)


def _codes(site: Site, blinking: Blinking, brightness: float) -> NDArray[np.uint8]:
    """Return (T, N, C) the blinking inside the house's budgets."""
    return limit(blinking.light(brightness), site.budgets).codes


def _how_to_film(blinking: Blinking) -> list[str]:
    return [
        f"The house blinks for {blinking.seconds:.0f} s: all on three times, then each pixel its "
        "number, then red, green and blue"
        + (", then half of the house at a time." if blinking.starts else "."),
        "Film it after dusk from the street, with the whole house in the picture, in landscape.",
        "Lean the phone on something, don't zoom, and film one whole round from before the three "
        "flashes.",
        "It blinks at most 2.5 times a second. Tell people nearby first: flashing light can "
        "trigger seizures in some. Stay on the pavement while you look through the phone.",
    ]


def read_survey(
    house: Path, film: Path, progress: Progress | None = None, *, measured: bool = False
) -> Survey:
    """Read a film of the blinking of a house, and compare it with the map.

    Parameters
    ----------
    measured
        Read the groups too, for `keep_survey`; the film must go on to their end.

    Raises
    ------
    InputError
        Anything wrong with either, or too little to be seen in the film.
    """
    site = Site.read(house)
    filmed = read_film(film, blinking_of(site, measured=measured), progress)
    try:
        return Survey(site, filmed, diagnose(site, filmed))
    except InputError as error:
        raise error.at(file=film) from None


def write_survey_picture(survey: Survey, path: Path) -> None:
    """Draw what was found on the film's dark house.

    Raises
    ------
    InputError
        A path that can't be written.
    """
    from lumenmap.camera.faults.picture import draw_faults

    check_replaceable(path)
    draw_faults(path, survey.site, survey.film, survey.diagnosis)


def check_keep(house: Path, path: Path) -> None:
    """Check that what a film shows of a house can be kept at a path.

    Raises
    ------
    InputError
        Another ending than ``.npz``, pixels with a white channel, a path that can't be written.
    """
    if path.suffix != KEPT:
        raise InputError(f"expected a name that ends in {KEPT}", file=path)
    check_replaceable(path)
    if Site.read(house).pixels.kind.channels != 3:
        raise InputError(
            "light is measured for pixels with red, green and blue only; leave it out", key="keep"
        )


def keep_survey(survey: Survey, path: Path, brightness: float = BRIGHTNESS) -> list[str]:
    """Keep the film's camera, its dark house and the light measured in it; return what to know.

    The film must be read as ``measured``, and the house be wired as mapped, or nearly.

    Parameters
    ----------
    brightness
        What the blinking was sent with.

    Raises
    ------
    InputError
        As `check_keep`.
    """
    from lumenmap.camera.faults.light import fitting
    from lumenmap.camera.faults.standing import in_holes
    from lumenmap.camera.stage.kept import keep
    from lumenmap.camera.stage.measured import measure

    site, film, standing = survey.site, survey.film, survey.diagnosis.standing
    check_keep(site.house.file, path)
    blinking = blinking_of(site, measured=True)
    codes = _codes(site, blinking, brightness)
    lamps = np.full((len(site.pixels), 2), np.nan)
    for n, i in fitting(film, standing, in_holes(standing.pieces, len(site.pixels))).items():
        lamps[n] = film.spots.place[i]
    made = measure(film, blinking, codes, site.house.sha256, standing.found.shot, lamps)
    keep(made, path)
    words = [f"wrote {path}: draw shows on it with lumenmap preview SHOW --photo {path.name}"]
    if made.clipped > CLIPPED:
        words.append(
            f"{made.clipped:.0%} of the lit house is too bright for the film, and looks washed "
            f"out in previews; send it with half the brightness, and film again"
        )
    return words
