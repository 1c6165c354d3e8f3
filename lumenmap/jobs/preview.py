"""What a project looks like: pictures of its codes, and the page that plays them."""

from __future__ import annotations

from contextlib import nullcontext
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

import numpy as np
from numpy.typing import NDArray
from threadpoolctl import threadpool_limits

from lumenmap.codes.flashes import Flashing
from lumenmap.codes.flashing import FlashCounter
from lumenmap.core.errors import InputError
from lumenmap.jobs.limited import limited
from lumenmap.jobs.project import Progress, Project
from lumenmap.jobs.sampled import PREVIEW_SECONDS, Sampler, clip, light_of, made_ready, seen
from lumenmap.jobs.steps import part_of, picture_steps
from lumenmap.pixels.regions import WHOLE_HOUSE
from lumenmap.power.limits.budgets import Budgets

if TYPE_CHECKING:
    from lumenmap.jobs.workers import Workers
    from lumenmap.pictures.options import PreviewOptions
    from lumenmap.pictures.page import Drawn


def preview(
    project: Project,
    path: Path | str,
    options: PreviewOptions | None = None,
    *,
    progress: Progress | None = None,
    workers: Workers | None = None,
    photo: Path | None = None,
) -> Previewed:
    """Write the show on a picture of its house, made from the codes it exports.

    What is written goes by the path's ending: GIF, WebP, APNG, MP4, WebM, a PNG or JPEG still or
    sheet, or an HTML page that plays it.

    Parameters
    ----------
    photo
        A file of marks, or what a survey kept: the show is drawn on its photograph or film.

    Raises
    ------
    InputError
        An unknown ending, options that this kind of file can't take, a path that can't be written.
    """
    from lumenmap.jobs.powered_words import powered_words
    from lumenmap.pictures.clip import write_clip
    from lumenmap.pictures.endings import LOOPING, ending_of
    from lumenmap.pictures.memory import require_room
    from lumenmap.pictures.options import PreviewOptions

    path, options = Path(path), options or PreviewOptions()
    stage, measured = None, False
    if photo is not None:
        from lumenmap.jobs.photo import KEPT, photo_stage

        measured = photo.suffix == KEPT
        stage, options = photo_stage(project.site, photo, path, options)
    if path.suffix.lower() == ".html":
        return page(project, path, options.filled(".html"), progress)
    short = ending_of(path) in LOOPING
    seconds = options.seconds or (PREVIEW_SECONDS if short else project.show.seconds)
    sampler = Sampler(project, options.fps, seconds)
    require_room(path, options, len(project.site.pixels), sampler.bytes)
    watch = FlashCounter(project.show.fps, project.site.flash_regions)
    size = options.filled(path.suffix.lower()).size
    rendered = min(project.show.frames, int(seconds * project.show.fps) + 1)
    steps = picture_steps(progress, rendered * len(project.site.pixels), sampler.count, size)
    # Of a longer show only the part that is shown is rendered.
    first = part_of(steps.next(), rendered / project.show.frames)
    blocks = limited(project, progress=first, workers=workers, brightness=options.brightness)
    own = options.filled(path.suffix.lower())
    with nullcontext(stage) if stage else made_ready(project, own) as drawing:
        for got in sampler.passing(blocks):
            watch.add(seen(project, light_of(got.codes)))
            if sampler.full:
                break
        made = clip(project, sampler, options.as_powered, channels=measured)
        drawn = write_clip(path, replace(made, stage=drawing), options, steps.next())
    notes = powered_words(project, sampler.kept, sampler.fps) if options.as_powered else []
    if measured:
        notes.insert(0, "drawn with the light that was measured in the survey's film")
    elif photo is not None:
        notes.insert(0, "drawn with the model's light on the photograph")
    return Previewed(drawn, watch.findings(), notes)


class Previewed(NamedTuple):
    """A preview that was written: with which options, where the show flashes, what it shows."""

    options: PreviewOptions
    flashing: list[Flashing]
    notes: list[str]


def page(
    project: Project, path: Path, options: PreviewOptions, progress: Progress | None
) -> Previewed:
    """Write the page that plays a show: every frame's codes, the supplies' amps, the cues."""
    from lumenmap.codes.order import to_wire
    from lumenmap.pictures.memory import require_room
    from lumenmap.pictures.options import check_options
    from lumenmap.pictures.page import LARGEST_CODES, Page, write_page
    from lumenmap.sound.carry import for_page

    check_options(".html", options)
    show, pixels = project.show, project.site.pixels
    size = show.frames * len(pixels) * pixels.kind.channels
    if size > LARGEST_CODES:
        raise InputError(
            f"the page would carry {size / 1e6:,.0f} MB of codes; {LARGEST_CODES / 1e6:.0f} MB is "
            "the most. Write an .mp4 instead",
            file=path,
        )
    # The codes three times over: as they come, as one array, and in the order of the wire.
    kept = 3 * size + 16 * show.frames * len(project.site.budgets)
    require_room(path, options, len(pixels), kept)
    watch = FlashCounter(show.fps, project.site.flash_regions)
    codes: list[NDArray[np.uint8]] = []
    amps: list[NDArray[np.float64]] = []
    steps = picture_steps(progress, show.frames * len(pixels), 0, options.size)
    for got in limited(project, progress=steps.next(), brightness=options.brightness):
        watch.add(seen(project, light_of(got.codes)))
        codes.append(got.codes)
        amps.append(got.amps)
    whole, drawn = np.concatenate(codes), np.concatenate(amps)
    with threadpool_limits(1, "blas"):  # sums would depend on the number of threads
        view = options.viewed(project.site)
    flashing = sorted(watch.findings(), key=lambda f: f.region != WHOLE_HOUSE)
    page = Page(
        show.name,
        project.site.house.name,
        show.fps,
        cues=[(c.name, c.start, c.length) for c in show.cues],
        budgets=_drawn(project.site.budgets, drawn),
        flashing=[str(f) for f in flashing],
        screen=project.site.dies.screen,
        unit=project.site.house.unit,
        sound=None if show.sound is None else for_page(show.sound),
    )
    spans = [(span.slice, span.order) for span in pixels.lines]
    with threadpool_limits(1, "blas"):
        write_page(path, view, pixels, to_wire(whole, spans), page)
    return Previewed(options, flashing, [])


def _drawn(budgets: Budgets, amps: NDArray[np.float64]) -> list[Drawn]:
    """Return each supply, and what comes nearest to its limit, with its part of the A (T, K)."""
    from lumenmap.pictures.page import Drawn

    full = int((amps / np.maximum(budgets.amps, 1e-9)).max(0).argmax())
    return [
        Drawn(name, kind, float(limit), amps[:, n], n == full)
        for n, (name, kind, limit) in enumerate(
            zip(budgets.names, budgets.kinds, budgets.amps, strict=True)
        )
        if (kind == "supply" or n == full) and np.isfinite(limit)
    ]
