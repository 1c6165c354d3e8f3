"""The flash image as C source, for programs with a built-in show."""

from __future__ import annotations

from pathlib import Path

from lumenmap.controller.files.frameset import FrameSet
from lumenmap.controller.flash.loss import Loss
from lumenmap.controller.flash.pack import pack
from lumenmap.controller.flash.sources import decoder_files
from lumenmap.core.errors import InputError

SUFFIX = ".c"
#: Words of C that Python takes for names too.
_TAKEN = (
    "auto break case char const continue default do double else enum extern float for goto if "
    "inline int long register restrict return short signed sizeof static struct switch typedef "
    "union unsigned void volatile while main"
)


def c_array(frames: FrameSet, path: Path, /, *, loss: int = 0, name: str = "show_image") -> Loss:
    """Flash image as a C array, to compile in and hand to the C99 decoder.

    ``name`` is the array's name (``NAME_size`` its length); ``loss`` as for the flash image.
    """
    if not name.isidentifier() or not name.isascii() or name in _TAKEN.split():
        raise InputError(f'option name is "{name[:40]}"; expected a C identifier')
    data, lost = pack(frames, loss)
    rows = [", ".join(f"0x{b:02x}" for b in data[i : i + 16]) for i in range(0, len(data), 16)]
    text = (
        f"/* {len(frames.codes)} frames of {frames.codes.shape[1]} pixels at {frames.fps:g} "
        f"frames/s, lumenmap flash image.\n * In other files: #define LUMENMAP_ARRAY {name}, then "
        f'#include "lumenmap_array.h". */\n#define LUMENMAP_ARRAY {name}\n'
        f'#include "lumenmap_array.h"\n\n'
        f"const uint32_t {name}_size = {len(data)}u;\n"
        f"const uint8_t {name}[{len(data)}] LUMENMAP_IN_FLASH = {{\n    "
        + ",\n    ".join(rows)
        + "\n};\n"
    )
    path.write_bytes(text.encode("ascii"))
    return lost


def beside(frames: FrameSet) -> dict[str, bytes]:
    """Return the decoder's sources, the array's header among them."""
    del frames  # they are the same for every show
    return decoder_files()
