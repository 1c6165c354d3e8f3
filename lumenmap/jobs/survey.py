"""A survey: what films of the blinking say of the house."""

from __future__ import annotations

import contextlib
import filecmp
import itertools
from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from lumenmap.camera.blinks.blinking import Blinking
from lumenmap.camera.evidence.evidence import Evidence
from lumenmap.camera.faults.diagnose import Diagnosis, diagnose
from lumenmap.camera.faults.report import report_data, report_lines
from lumenmap.camera.film.read import Filmed, film_memory, read_film
from lumenmap.core.errors import InputError, together
from lumenmap.core.estimate import require_memory
from lumenmap.core.files import check_replaceable
from lumenmap.core.plain import plain
from lumenmap.jobs.blinking import BRIGHTNESS, blinking_codes, blinking_of
from lumenmap.jobs.project import Progress
from lumenmap.site import Site

#: The ending of what is kept of a survey.
KEPT = ".npz"
#: Names of films are cut to so many letters.
NAMED = 120
#: If more of what is lit is too bright for the film, that is told [C].
CLIPPED = 0.15


@dataclass(frozen=True, slots=True, eq=False)
class Survey:
    """Films that were read: the house, and what follows from them."""

    site: Site
    diagnosis: Diagnosis

    def lines(self) -> list[str]:
        """Return what was found, in sentences."""
        return report_lines(self.site, self.diagnosis)

    def data(self) -> dict[str, Any]:
        """Return what was found, as JSON has it."""
        return report_data(self.site, self.diagnosis)


def read_survey(
    house: Path,
    films: Sequence[Path],
    progress: Progress | None = None,
    *,
    measured: bool = False,
) -> Survey:
    """Read films of the blinking of a house, and compare them with the map, together.

    A film that shows nothing of this house is left out, and told, as long as another does.

    Parameters
    ----------
    films
        From different places, as a rule; each may show another round of the blinking.
    measured
        Read the groups too, for `keep_survey`; the films must go on to their end.

    Raises
    ------
    InputError
        Anything wrong with house or films, a film given twice, or too little seen in any.
    """
    site = Site.read(house)
    blinking = blinking_of(site, measured=measured)
    _require_memory(films, blinking)
    read: dict[str, Filmed] = {}
    unread: dict[str, InputError] = {}
    for number, (name, film) in enumerate(film_names(films).items()):
        try:
            read[name] = read_film(film, blinking, _part_of(progress, number, len(films)))
        except InputError as error:
            unread[name] = error.at(file=name)
    if not read:
        raise together(list(unread.values()))
    try:
        found = diagnose(site, read)
    except InputError as error:
        raise together([*unread.values(), *error.each]) from None
    told = tuple((name, error.message) for name, error in unread.items())
    return Survey(site, replace(found, left_out=(*told, *found.left_out)))


def _require_memory(films: Sequence[Path], blinking: Blinking) -> None:
    """Refuse films that don't fit in memory together; one that can't be read is told later."""
    kept, most = 0, 0
    for film in films:
        with contextlib.suppress(InputError):
            own, more = film_memory(film, blinking)
            kept, most = kept + own, max(most, more)
    instead = "make the films smaller" + (", or give fewer at once" if len(films) > 1 else "")
    require_memory(kept + most, instead, key="film")


def film_names(films: Sequence[Path]) -> dict[str, Path]:
    """Return films by what they are called: their file names, or paths if those are the same.

    Raises
    ------
    InputError
        A file that isn't there, or a film that is given twice.
    """
    for film in films:
        if not film.exists():
            raise InputError("no such film", file=film)
    for one, two in itertools.combinations(films, 2):
        if _same(one, two):
            other = "" if one == two else f" as {plain(str(one), NAMED)}"
            raise InputError(
                f"is the same film{other}; give each film once, since it counts once", file=two
            )
    names = [film.name for film in films]
    same = [names.count(name) > 1 for name in names]
    return {
        plain(str(film) if twice else film.name, NAMED): film
        for film, twice in zip(films, same, strict=True)
    }


def _same(one: Path, two: Path) -> bool:
    """Return whether two films are one, or a copy; what can't be read is told when it is."""
    with contextlib.suppress(OSError):
        return one.samefile(two) or filecmp.cmp(one, two, shallow=False)
    return False


def _part_of(progress: Progress | None, number: int, count: int) -> Progress | None:
    """Return the progress of one of so many films, as part of all."""
    if progress is None:
        return None
    return lambda done, total: progress(number * total + done, count * total)


def write_survey_picture(survey: Survey, path: Path) -> None:
    """Draw what was found on the dark house of each film.

    Raises
    ------
    InputError
        A path that can't be written.
    """
    from lumenmap.camera.faults.picture import draw_faults

    check_replaceable(path)
    draw_faults(path, survey.site, survey.diagnosis)


def kept_paths(path: Path, films: Sequence[str]) -> dict[str, Path]:
    """Return where what each film shows is kept: one camera's pictures each.

    At ``path`` if there is one film, else next to it, with the film's name added.

    Raises
    ------
    InputError
        Two films whose names are the same.
    """
    if len(films) == 1:
        return {films[0]: path}
    made = {film: path.with_name(f"{path.stem}-{Path(film).stem}{path.suffix}") for film in films}
    for (one, at), (two, other) in itertools.combinations(made.items(), 2):
        if at == other:
            raise InputError(
                f"would keep {one} and {two} both as {at.name}; rename one of the films", key="keep"
            )
    return made


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
    """Keep each film's camera, its dark house and the light measured in it; return what to know.

    The films must be read as ``measured``, and the house be wired as mapped, or nearly.

    Parameters
    ----------
    path
        As of `kept_paths`.
    brightness
        What the blinking was sent with.

    Raises
    ------
    InputError
        As `check_keep` and `kept_paths`.
    """
    site = survey.site
    blinking = blinking_of(site, measured=True)
    codes = blinking_codes(site, blinking, brightness)
    films = {film.name: film for film in survey.diagnosis.films}
    words: list[str] = []
    # Films that weren't used count, so that the others are kept where it was said they would be.
    names = [*films, *(name for name, _ in survey.diagnosis.left_out)]
    for name, own in kept_paths(path, names).items():
        if name in films:
            words += _keep_one(survey, films[name], own, codes)
    return words


def _keep_one(
    survey: Survey, evidence: Evidence, path: Path, codes: NDArray[np.uint8]
) -> list[str]:
    from lumenmap.camera.stage.kept import keep
    from lumenmap.camera.stage.measured import measure

    site, film = survey.site, evidence.film
    check_keep(site.house.file, path)
    lamps = np.full((len(site.pixels), 2), np.nan)
    for n, i in evidence.fitting(survey.diagnosis.wired.holes).items():
        lamps[n] = film.spots.place[i]
    blinking = blinking_of(site, measured=True)
    made = measure(film, blinking, codes, site.house.sha256, evidence.shot, lamps)
    keep(made, path)
    words = [f"wrote {path}: draw shows on it with lumenmap preview SHOW --photo {path.name}"]
    if made.clipped > CLIPPED:
        words.append(
            f"{made.clipped:.0%} of the lit house is too bright for the film, and looks washed "
            f"out in previews; send it with half the brightness, and film again"
        )
    return words
