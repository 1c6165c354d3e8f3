from typing import Any

from numpy.typing import NDArray

from lumenmap.pictures.inner.cells import CellTable
from lumenmap.pictures.inner.outlines import Outlines

Array = NDArray[Any]

def product(
    data: Array,
    indices: Array,
    indptr: Array,
    light: Array,
    colours: Array,
    out: Array,
    width: int,
    /,
) -> None: ...
def paint(
    mix_data: Array,
    mix_indices: Array,
    mix_indptr: Array,
    nodes: Array,
    images_data: Array,
    images_indices: Array,
    images_indptr: Array,
    lamps: Array,
    base: Array,
    touched: Array,
    table: Array,
    out: Array,
    scale: float,
    width: int,
    /,
) -> None: ...
def learn(table: CellTable, colours: Array, mixed: bool, shows: float, solid: float, /) -> None: ...
def moved(
    table: CellTable,
    before: Array,
    frames: Array,
    indices: Array,
    changes: Array,
    boxes: Array,
    width: int,
    same: int,
    /,
) -> None: ...
def nearest(here: Array, places: Array, near: Array, /) -> None: ...
def image(
    indices: Array, columns: int, left: int, top: int, width: int, height: int, same: int, /
) -> bytes: ...
def within(x: Array, y: Array, corners: Array, out: Array, /) -> None: ...
def blocked(starts: Array, stops: Array, faces: Outlines, out: Array, /) -> None: ...
def apart(
    starts: Array,
    stops: Array,
    one: Array,
    two: Array,
    faces: Outlines,
    out: Array,
    /,
) -> None: ...
def sunlit(
    starts: Array,
    normals: Array,
    towards: Array,
    faces: Outlines,
    margin: float,
    far: float,
    out: Array,
    /,
) -> None: ...
def shine(
    points: Array,
    normals: Array,
    lamps: Array,
    starts: Array,
    dark: Array,
    out: Array,
    sideways: float,
    behind: float,
    /,
) -> None: ...
