"""Photographs of the house: the points that can be marked, and the camera that marks give."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

from lumenmap.camera.marks.file import starter
from lumenmap.camera.marks.photo import read_photo
from lumenmap.camera.marks.read import read_posed
from lumenmap.core.errors import InputError
from lumenmap.core.files import check_ending, inside, write_whole
from lumenmap.core.notices import notice
from lumenmap.pictures.options import PreviewOptions
from lumenmap.site import Site

if TYPE_CHECKING:
    from lumenmap.camera.stage.film_stage import FilmStage
    from lumenmap.camera.stage.stage import Stage
    from lumenmap.pictures.clip import Pictures

#: The ending of what a survey keeps.
KEPT = ".npz"
#: Points that a new file of marks begins with.
BEGIN = 16


def list_points(house: Path, *, picture: Path | None, photo: Path | None) -> list[str]:
    """List the points of a house that can be seen from the street, the most useful first.

    Parameters
    ----------
    picture
        Where to draw them on the model; or, with a photograph and a name that ends in .html, where
        to write the page on which they are marked by touch.
    photo
        A photograph in the house's folder: without a page, a file of marks for it is written next
        to it.

    Raises
    ------
    InputError
        Anything wrong with the house, a photograph elsewhere, a file that is already there.
    """
    from lumenmap.camera.marks.picture import draw_points, visible_points

    page = picture is not None and picture.suffix == ".html"
    if picture is not None:
        check_ending(picture, ".png", *([".html"] if photo or page else []))
    site = Site.read(house)
    if picture is not None and page:
        return _touch(picture, site, house, photo)
    target = None if photo is None else _new_marks(house, photo)
    points = draw_points(picture, site) if picture else visible_points(site)[0]
    wide = max((len(p.name) for p in points), default=0)
    lines = [f"{n:3}  {p.name:{wide}}  {p.words}" for n, p in enumerate(points, 1)]
    if picture:
        lines.append(f"wrote {picture}")
    if photo is not None and target is not None:
        write_whole(target, starter(photo.name, house, [p.name for p in points[:BEGIN]]))
        lines.append(f"wrote {target}: fill in five or more marks, then lumenmap marks {target}")
    return lines


def _touch(page: Path, site: Site, house: Path, photo: Path | None) -> list[str]:
    from lumenmap.camera.marks.touch import write_touch_page

    if photo is None:
        raise InputError("needs a photograph to mark the points on: --photo PICTURE", file=page)
    _check_place(house, photo)
    count = write_touch_page(page, site, house, photo)
    return [
        f"wrote {page}, with {count} points to choose from: open it in a browser, mark five or "
        f"more, better eight, and save {photo.stem}.marks.toml next to the photograph"
    ]


def _check_place(house: Path, photo: Path) -> None:
    """Raise `InputError` for a photograph that isn't next to a house file."""
    own = inside(house.parent, photo.name)
    if own is None or photo.resolve().parent != house.resolve().parent:
        raise InputError("isn't next to the house file; copy it there first", file=photo)


def _new_marks(house: Path, photo: Path) -> Path:
    """Return the path of a new file of marks next to a house, for a photograph that can be read."""
    target = photo.with_name(f"{photo.stem}.marks.toml")
    _check_place(house, photo)
    read_photo(photo)
    if target.exists():
        raise InputError("is there already; fill it in, or delete it first", file=target)
    return target


def check_marks(file: Path, *, picture: Path | None) -> list[str]:
    """Return where the camera of a marked photograph stood, and how well each mark fits.

    Raises
    ------
    InputError
        Anything wrong in the file, or no camera that fits.
    """
    from lumenmap.camera.marks.picture import draw_marks

    if picture is not None:
        check_ending(picture, ".png")
    posed = read_posed(file)
    wide = max(len(m.point.name) for m in posed.marks)
    lines = [f"{m.point.name:{wide}}  {m.offset:7.1f} px off" for m in posed.marks]
    lines += posed.words()
    for traced in posed.traces:
        lines += ["", *traced.words(posed.site.house)]
    if picture:
        draw_marks(picture, posed)
        lines.append(f"wrote {picture}")
    return lines


def photo_stage(
    site: Site, marks: Path, out: Path, options: PreviewOptions
) -> tuple[Callable[[PreviewOptions], Pictures], PreviewOptions]:
    """Return what draws a show on a marked photograph, and options of the photograph's shape.

    Raises
    ------
    InputError
        Anything wrong with the marks, marks of another house, or options that a photograph can't
        take.
    """
    from lumenmap.camera.stage.stage import Stage

    if out.suffix.lower() == ".html":
        raise InputError("doesn't apply to a page; write a .png, .gif or .mp4", key="photo")
    if options.height or options.view not in (None, "street"):
        what = "height" if options.height else "view"
        raise InputError("goes by the photograph; leave it out", key=what)
    if marks.suffix == KEPT:
        return _film_stage(site, marks, options)
    posed = read_posed(marks)
    if posed.site.house.sha256 != site.house.sha256:
        raise InputError(
            f"is of {posed.site.house.file.name}, another house than the show's", file=marks
        )
    if wrong := [m.point.name for m in posed.marks if not m.right]:
        said = "mark doesn't fit and isn't" if len(wrong) == 1 else "marks don't fit and aren't"
        notice(f"{marks.name}: {len(wrong)} {said} used: {', '.join(wrong)}")
    if posed.photo.doubt:
        notice(f"{posed.path.name} {posed.photo.doubt}")
    for doubt in posed.doubts:
        notice(f"{marks.name}: {doubt}")
    w, h = posed.photo.size
    width = min(options.size[0], w)

    def stage(asked: PreviewOptions) -> Stage:
        return Stage(
            site,
            posed.photo.codes,
            posed.shot,
            width=asked.size[0],
            look=asked.look,
            cache=asked.cache,
        )

    return stage, replace(options, width=width, height=max(16, round(width * h / w)))


def _film_stage(
    site: Site, kept: Path, options: PreviewOptions
) -> tuple[Callable[[PreviewOptions], Pictures], PreviewOptions]:
    """Return what draws a show on the film of a survey, with the light measured in it."""
    from lumenmap.camera.stage.film_stage import FilmStage
    from lumenmap.camera.stage.kept import read_measured

    measured = read_measured(kept)
    if measured.house != site.house.sha256:
        raise InputError("was kept for another house, or before the house file changed", file=kept)
    w, h = measured.shot.size
    width = min(options.size[0], w)

    def stage(asked: PreviewOptions) -> FilmStage:
        stops = asked.look.stops
        return FilmStage(site, measured, width=asked.size[0], stops=stops)

    return stage, replace(options, width=width, height=max(16, round(width * h / w)))
