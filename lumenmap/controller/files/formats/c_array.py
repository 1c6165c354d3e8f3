"""The flash image as C source, for programs with a built-in show."""

from __future__ import annotations

from pathlib import Path

from lumenmap.controller.files.frameset import FrameSet
from lumenmap.controller.flash.loss import Loss
from lumenmap.controller.flash.pack import pack
from lumenmap.core.errors import InputError

SUFFIX = ".c"


def c_array(frames: FrameSet, path: Path, /, *, loss: int = 0, name: str = "show_image") -> Loss:
    """Flash image as a C array, to compile in and hand to the C99 decoder.

    ``name`` is the array's name (``NAME_size`` its length); ``loss`` as for the flash image.
    """
    if not name.isidentifier() or not name.isascii():
        raise InputError(f'option name is "{name[:40]}"; expected a C identifier')
    data, lost = pack(frames, loss)
    rows = [", ".join(f"0x{b:02x}" for b in data[i : i + 16]) for i in range(0, len(data), 16)]
    text = (
        f"/* {len(frames.codes)} frames of {frames.codes.shape[1]} pixels at {frames.fps:g} "
        f"frames/s, lumenmap flash image. */\n#include <stdint.h>\n\n"
        f"const uint32_t {name}_size = {len(data)}u;\n"
        f"const uint8_t {name}[{len(data)}] = {{\n    " + ",\n    ".join(rows) + "\n};\n"
    )
    path.write_bytes(text.encode("ascii"))
    return lost
