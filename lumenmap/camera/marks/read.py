"""`read_posed`: a file of marks, with its photograph, its house and the camera."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np

from lumenmap.camera.marks.file import MarksFile
from lumenmap.camera.marks.photo import read_photo
from lumenmap.camera.marks.points import NamedPoint, named_points
from lumenmap.camera.marks.posed import CARE, Posed, pose
from lumenmap.camera.marks.trace import trace
from lumenmap.core.errors import InputError, each, unknown
from lumenmap.core.files import inside, near_file
from lumenmap.core.toml.reading import load_toml
from lumenmap.core.toml.tables import check, located
from lumenmap.house.model import House
from lumenmap.site import Site


def read_posed(path: Path) -> Posed:
    """Read a file of marks and find the camera.

    Raises
    ------
    InputError
        Anything wrong in the file, no photograph, unknown points, or no camera that fits.
    """
    data = load_toml(path, "photo")
    file = check(MarksFile, data, path, {})
    with located(path, data):
        try:
            site = Site.read(_near(path, file.photo.house, "photo.house"))
            photo_path = _near(path, file.photo.file, "photo.file")
            photo = read_photo(photo_path)
            points = _points(site.house, file)
            places = np.array([file.mark[p.name] for p in points], np.float64).reshape(-1, 2)
            posed = pose(site, photo, points, places, lens=file.photo.lens, path=photo_path)
            care = CARE * max(photo.size)
            drawn = each(lambda t: trace(t, posed.shot, site.house, care), file.trace)
        except InputError as error:
            raise error.at(file=path) from None
    return replace(posed, traces=drawn)


def _near(path: Path, name: str, key: str) -> Path:
    found = inside(path.parent, name)
    if found is None:
        raise InputError(
            f'is "{name}"; expected a file in the same folder or in one below it', key=key
        )
    if not found.exists():
        raise InputError(f'no file "{name}" in this folder{near_file(found)}', key=key)
    return found


def _points(house: House, file: MarksFile) -> tuple[NamedPoint, ...]:
    known = named_points(house)

    def named(name: str) -> NamedPoint:
        if name not in known:
            raise InputError(unknown("point", name, known), key=f"mark.{name}")
        return known[name]

    return each(named, file.mark)
