from typing import Any

from numpy.typing import NDArray

Array = NDArray[Any]

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
def between(
    before: Array,
    now: Array,
    spread: Array,
    places: Array,
    spots: Array,
    cells: Array,
    unknown: Array,
    /,
) -> tuple[int, int]: ...
def moved(
    spots: Array,
    cells: Array,
    indices: Array,
    near: Array,
    places: Array,
    alone: Array,
    palette: Array,
    flags: Array,
    /,
) -> int: ...
def nearest(here: Array, palette: Array, near: Array, square: Array, /) -> None: ...
def lzw(part: Array, x: int, y: int, width: int, /) -> bytes: ...
