"""The whole way in one place: files in, light, codes inside the budgets, files out.

The command line and Python users call this; each stage can be called alone as well.
"""

from __future__ import annotations

import os
from collections.abc import Callable, Iterable, Iterator
from concurrent.futures import Executor
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

import numpy as np
from numpy.typing import NDArray

from lumenmap.codes.flashing import FlashWatch
from lumenmap.codes.white import join_white, split_white
from lumenmap.controller.frames import FrameWriter, sidecar
from lumenmap.core.errors import InputError
from lumenmap.core.files import OutputSet
from lumenmap.frames.parallel import render_on
from lumenmap.frames.plan import Plan, matching, plan
from lumenmap.frames.render import Light
from lumenmap.frames.render import render as render_plan
from lumenmap.frames.seam import seam
from lumenmap.house.load import load_house
from lumenmap.house.model import House
from lumenmap.pixels.build import map_pixels
from lumenmap.pixels.pixelmap import PixelMap
from lumenmap.power.budgets import Budgets, budgets
from lumenmap.power.certificate import certificate
from lumenmap.power.limit import Limited
from lumenmap.power.limiter import Limiter, LimitOptions
from lumenmap.power.refresh import refresh_problems
from lumenmap.power.tally import Tally
from lumenmap.show.load import load_show
from lumenmap.show.model import Show

if TYPE_CHECKING:
    from lumenmap.pictures.clip import Clip, ClipOptions

R = TypeVar("R")

#: Light that is kept between the limiter's two passes (bytes); a longer show is rendered twice.
KEEP = 128 << 20

#: Told of frames done and frames in all, now and then.
Progress = Callable[[int, int], None]

#: A preview longer than this is cut: nobody looks at a longer GIF.
PREVIEW_SECONDS = 30.0
PREVIEW_FPS = 15.0


@dataclass(frozen=True, slots=True, eq=False)
class Loaded:
    """A show on a house, ready to render: what `load` gives."""

    show: Show
    house: House
    pixels: PixelMap
    budgets: Budgets
    plan: Plan

    @property
    def limiter(self) -> Limiter:
        """The limiter that the show asks for, before it has seen the show."""
        return Limiter(self.budgets, LimitOptions(**self.show.limit), self.show.fps)


def load(
    show: Path | str, *, house: Path | str | None = None, effect_folders: Iterable[Path] = ()
) -> Loaded:
    """Read a show and its house.

    Parameters
    ----------
    show
        The show file.
    house
        The house file, instead of the one that the show names.
    effect_folders
        Folders of effects of your own; their code is run.

    Raises
    ------
    InputError
        Anything wrong in either file.
    """
    piece = load_show(show, effect_folders=effect_folders)
    where = Path(house) if house is not None else piece.house
    if where is None:
        raise InputError(
            'names no house; write house = "house.toml" or give --house FILE',
            file=piece.file,
            key="show.house",
        )
    home = load_house(where)
    pixelmap = map_pixels(home)
    return Loaded(piece, home, pixelmap, budgets(home, pixelmap), plan(piece, home, pixelmap))


def render(work: Loaded, *, block: int | None = None) -> Iterator[Light]:
    """Yield the show as blocks of (T, N, 3) linear light, before any limit."""
    yield from render_plan(work.plan, block=block)


def limited(
    work: Loaded,
    *,
    progress: Progress | None = None,
    executor: Executor | None = None,
    workers: int = 2,
) -> Iterator[Limited]:
    """Yield the show as blocks of codes that keep inside every budget.

    ``executor`` is any `concurrent.futures.Executor`, which runs ``workers`` tasks at once: the
    codes do not depend on it.
    """
    limiter, kept = work.limiter, None
    if limiter.needs_plan:
        limiter, kept = _planned(work, limiter, executor, workers)
    done = 0
    blocks = _each(work, partial(_codes, limiter), executor, workers, kept)
    for got in blocks:
        yield got
        done += len(got.codes)
        if progress:
            progress(done, work.show.frames)


def _planned(
    work: Loaded, limiter: Limiter, executor: Executor | None, workers: int
) -> tuple[Limiter, list[Light] | None]:
    """Go through the show once for the limiter's plan; keep its light if it is not too much."""
    few = work.show.frames * len(work.pixels) * 16 <= KEEP and executor is None
    kept = list(render(work)) if few else None
    wants = list(_each(work, partial(_wants, limiter), executor, workers, kept))
    return limiter.plan(np.concatenate(wants)), kept


def _each(
    work: Loaded,
    then: Callable[[Light, int], R],
    executor: Executor | None,
    workers: int,
    kept: list[Light] | None,
) -> Iterator[R]:
    """Yield what ``then`` makes of each block of the show and its first frame, in order."""
    if executor is not None:
        yield from render_on(executor, work.plan, then, workers=workers)
        return
    first = 0
    for light in kept if kept is not None else render(work):
        yield then(light, first)
        first += len(light)


def _wants(limiter: Limiter, light: Light, first: int) -> NDArray[np.float64]:
    del first  # what light wants does not depend on when
    return limiter.wants(_channels(limiter, light))


def _codes(limiter: Limiter, light: Light, first: int) -> Limited:
    return limiter.limit(_channels(limiter, light), first)


def _channels(limiter: Limiter, light: Light) -> Light:
    return split_white(light) if len(limiter.budgets.channel_amps) == 4 else light


def check(work: Loaded, *, progress: Progress | None = None) -> dict[str, Any]:
    """Run the whole show and write nothing; return the report."""
    tally, watch = Tally(work.budgets, work.show.fps), _watch(work)
    for got in limited(work, progress=progress):
        tally.add(got)
        watch.add(join_white(_seen(got.codes)))
    return _report(work, tally, watch)


def export(work: Loaded, folder: Path | str, *, progress: Progress | None = None) -> dict[str, Any]:
    """Write ``frames.rgb``, ``frames.json`` and ``certificate.txt``; return the report."""
    with OutputSet(folder) as files:
        return _export(work, files, Path(folder), _Sampler(work, 0), progress)


def preview(
    work: Loaded,
    path: Path | str,
    *,
    width: int = 640,
    fps: float = PREVIEW_FPS,
    seconds: float | None = None,
    as_powered: bool = False,
    options: ClipOptions | None = None,
    progress: Progress | None = None,
) -> ClipOptions:
    """Write the show on a picture of its house, made from the codes it exports.

    What is written goes by the path's ending: GIF, WebP, APNG, MP4, WebM, a PNG still or sheet, or
    an HTML page that plays it. Return the options it was written with.

    Parameters
    ----------
    seconds
        Stop after these; by default `PREVIEW_SECONDS` for what loops, the whole show for the rest.
    as_powered
        As the wiring lights it, with pixels that are short of volts warm and dim.
    options
        How it looks; ``width`` is then theirs.

    Raises
    ------
    InputError
        An unknown ending, options that can't be met, a path that can't be written.
    """
    from lumenmap.pictures.clip import LOOPING, ClipOptions, ending_of, write_clip

    path, options = Path(path), options or ClipOptions(width=width)
    if path.suffix.lower() == ".html":
        return _page(work, path, options, progress)
    short = ending_of(path) in LOOPING
    sampler = _Sampler(work, fps, seconds or (PREVIEW_SECONDS if short else work.show.seconds))
    for got in limited(work, progress=progress):
        sampler.add(got.codes)
        if sampler.full:
            break
    return write_clip(path, _clip(work, sampler, as_powered), options)


def make(
    work: Loaded,
    folder: Path | str,
    *,
    width: int = 640,
    fps: float = PREVIEW_FPS,
    progress: Progress | None = None,
) -> dict[str, Any]:
    """Do the whole job into ``folder``; return the report that ``report.json`` holds.

    Writes ``preview.gif``, ``frames.rgb``, ``frames.json``, ``certificate.txt`` and
    ``report.json``: all or none.
    """
    sampler = _Sampler(work, fps)
    with OutputSet(folder) as files:
        report = _export(work, files, Path(folder), sampler, progress)
        report["preview_seconds"] = min(work.show.seconds, PREVIEW_SECONDS)
        from lumenmap.pictures.clip import ClipOptions, write_clip

        write_clip(files.path("preview.gif"), _clip(work, sampler), ClipOptions(width=width))
        files.path("report.json").write_text(_json(report))
    return report


def _export(
    work: Loaded,
    files: OutputSet,
    folder: Path,
    sampler: _Sampler,
    progress: Progress | None,
) -> dict[str, Any]:
    tally, watch = Tally(work.budgets, work.show.fps), _watch(work)
    writer = FrameWriter(files.path("frames.rgb"), work.pixels)
    try:
        for got in limited(work, progress=progress):
            tally.add(got)
            watch.add(join_white(_seen(got.codes)))
            writer.write(got.codes)
            sampler.add(got.codes)
    finally:
        writer.close()
    proof = certificate(
        work.house, work.pixels, frames=tally.frames, fps=work.show.fps, sha256=writer.sha256,
        rows=tally.figures(),
    )  # fmt: skip
    report = {
        **_report(work, tally, watch),
        "sha256": writer.sha256,
        "energy": proof.report()["energy"],
    }
    relative = os.path.relpath(work.house.file.resolve(), folder.resolve())
    extra = {
        "budget_amps": report["budget_amps"],
        "peak_amps": report["peak_amps"],
        "budgets": report["budgets"],
        "house": Path(relative).as_posix(),
    }
    files.path("frames.json").write_text(sidecar(writer, work.pixels, work.show.fps, extra))
    files.path("certificate.txt").write_text(proof.text())
    return report


def _watch(work: Loaded) -> FlashWatch:
    """Watch the house as a whole and each edge for flashes."""
    pixels = work.pixels
    edges = {
        name: np.flatnonzero((pixels.edge == i) & pixels.lit)
        for i, name in enumerate(pixels.edge_names)
    }
    return FlashWatch(work.show.fps, {"the whole house": np.flatnonzero(pixels.lit), **edges})


def _report(work: Loaded, tally: Tally, watch: FlashWatch) -> dict[str, Any]:
    """Say what a show is and what it drew; units as in `Tally.report`."""
    return {
        "show": work.show.name,
        "house": work.house.name,
        "frames": tally.frames,
        "fps": work.show.fps,
        "seconds": work.show.seconds,
        "pixels": len(work.pixels),
        "pixel_kind": work.pixels.kind.name,
        **tally.report(),
        "seam": seam(work.plan).report(),
        "flashing": [f.report() for f in watch.findings()],
        "refresh": [p.report() for p in refresh_problems(work.pixels, work.show.fps)],
    }


def _json(content: dict[str, Any]) -> str:
    import json

    return json.dumps(content, indent=2) + "\n"


class _Sampler:
    """Keeps the codes of those frames that the preview shows, as the show streams by."""

    def __init__(self, work: Loaded, fps: float, seconds: float = PREVIEW_SECONDS) -> None:
        show = work.show
        self.fps = min(fps, show.fps)
        count = int(min(show.seconds, seconds) * self.fps) if fps else 0
        if fps:
            count = max(1, count)
        self._wanted = np.floor(np.arange(count) * show.fps / max(self.fps, 1e-9)).astype(int)
        self._seen = 0
        self.kept: list[NDArray[np.uint8]] = []

    @property
    def full(self) -> bool:
        """Whether all wanted frames have passed."""
        return len(self.kept) == len(self._wanted)

    def add(self, codes: NDArray[np.uint8]) -> None:
        """Take the wanted frames out of the next block (T, N, C)."""
        low, high = np.searchsorted(self._wanted, (self._seen, self._seen + len(codes)))
        self.kept += [codes[i - self._seen].copy() for i in self._wanted[low:high]]
        self._seen += len(codes)


def _clip(work: Loaded, sampler: _Sampler, as_powered: bool = False) -> Clip:
    """Return what is drawn of a show: the kept codes as light."""
    from lumenmap.pictures.clip import Clip
    from lumenmap.power.powered import as_powered as powered

    lit = powered(work.house, work.pixels) if as_powered else _seen

    def light(first: int, stop: int) -> Light:
        return on_screen(work, join_white(lit(np.stack(sampler.kept[first:stop]))))

    title = f"{work.show.name} on {work.house.name}"
    return Clip(work.house, work.pixels, title, sampler.fps, len(sampler.kept), light)


def _page(work: Loaded, path: Path, options: ClipOptions, progress: Progress | None) -> ClipOptions:
    """Write the page that plays a show: every frame's codes, the supplies' amps, the cues."""
    from lumenmap.codes.quantise import to_wire
    from lumenmap.pictures.clip import sample_frames
    from lumenmap.pictures.page import LARGEST_CODES, Page, write_page
    from lumenmap.pictures.preview import Preview

    show, pixels = work.show, work.pixels
    size = show.frames * len(pixels) * pixels.kind.channels
    if size > LARGEST_CODES:
        raise InputError(
            f"the page would carry {size / 1e6:,.0f} MB of codes; {LARGEST_CODES / 1e6:.0f} MB is "
            "the most. Write an .mp4 instead",
            file=path,
        )
    watch = _watch(work)
    codes: list[NDArray[np.uint8]] = []
    amps: list[NDArray[np.float64]] = []
    for got in limited(work, progress=progress):
        watch.add(join_white(_seen(got.codes)))
        codes.append(got.codes)
        amps.append(got.amps)
    whole, drawn = np.concatenate(codes), np.concatenate(amps)
    view = Preview(
        work.house, pixels, width=options.width, height=options.tall, view=options.view,
        look=options.look, cache=options.cache,
    )  # fmt: skip
    view.expose(on_screen(work, join_white(_seen(whole[sample_frames(len(whole))]))))
    names = zip(work.budgets.names, work.budgets.kinds, work.budgets.amps, drawn.T, strict=True)
    mixing = matching(show, pixels)
    page = Page(
        show.name, work.house.name, show.fps,
        cues=[(c.name, c.start, c.length) for c in show.cues],
        supplies=[(name, float(most), a) for name, kind, most, a in names if kind == "supply"],
        flashing=[str(f) for f in watch.findings()],
        screen=None if mixing is None else np.linalg.inv(mixing),
    )  # fmt: skip
    spans = [(span.slice, span.order) for span in pixels.lines]
    write_page(path, view, pixels, to_wire(whole, spans), page)
    return options


def on_screen(work: Loaded, light: Light) -> Light:
    """Return light (T, N, 3) as pictures show it: what was mixed for the dies is mixed back."""
    mixing = matching(work.show, work.pixels)
    if mixing is None:
        return light
    back = np.asarray(np.linalg.inv(mixing), np.float32)
    return np.asarray(np.einsum("...c,dc->...d", light, back)).clip(0).astype(np.float32)


def _seen(codes: NDArray[np.uint8]) -> Light:
    """Return the light of codes (T, N, C) where every pixel has its volts: linear, 0..1."""
    return codes.astype(np.float32) * np.float32(1 / 255)
