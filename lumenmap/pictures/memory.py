"""How much memory pictures of a show take, estimated before they are drawn.

The figures were measured on the example houses (the process's peak less what it had before):
40 MB, and what is below for each pixel of the picture and for each on the house; [K],
`tests.pictures.test_memory` measures them again.
"""

from __future__ import annotations

from pathlib import Path

from lumenmap.core.estimate import require_memory
from lumenmap.pictures.drawn.preview import check_size
from lumenmap.pictures.options import STILLS, PreviewOptions

#: Bytes that every picture takes.
_ALWAYS = 40_000_000
#: Bytes for each pixel of the picture: its surfaces, light and matrices, and the frames at work.
_STILL, _MOVING, _GIF, _PAGE = 130, 270, 560, 400
#: Bytes for each pixel on the house: its image, and the nodes of the faces near it.
_LAMP = 20_000


def picture_bytes(ending: str, options: PreviewOptions, lamps: int) -> float:
    """Return the memory that drawing takes, in bytes, by the ending of its file and the pixels."""
    width, height = options.filled(ending).size
    kinds = {".gif": _GIF, ".html": _PAGE, **dict.fromkeys(STILLS, _STILL)}
    return _ALWAYS + width * height * float(kinds.get(ending, _MOVING)) + _LAMP * lamps


def require_room(path: Path, options: PreviewOptions, lamps: int, kept: float) -> None:
    """Refuse a picture that takes more memory than is free.

    Parameters
    ----------
    path
        The file to write; its ending names the kind.
    lamps
        Pixels on the house.
    kept
        Bytes of codes that are kept until it is drawn.

    Raises
    ------
    InputError
        A size that no picture has; or what is needed, and what to make smaller.
    """
    ending = path.suffix.lower()
    check_size(*options.filled(ending).size)
    drawn = picture_bytes(ending, options, lamps)
    width, height = options.filled(ending).size
    instead, key = f"make the picture smaller than {width} × {height}", "width"
    if kept > drawn:
        instead, key = "show fewer seconds (`seconds`) or frames/s (`fps`)", "seconds"
    require_memory(drawn + kept, instead, key=key)
