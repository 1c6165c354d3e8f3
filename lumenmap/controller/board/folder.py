"""The folder that a board's program is built from: the player's sources, and ``board.h``."""

from __future__ import annotations

from pathlib import Path

from lumenmap.controller.files.frameset import FrameSet
from lumenmap.controller.flash.caps import caps_of
from lumenmap.controller.flash.sources import decoder_files, files_of

#: Data lines that the player has room for (LMC_LINES).
MOST_LINES = 16


def board_files(frames: FrameSet) -> dict[str, bytes]:
    """Return the player, its description and ``board.h`` for a house, by their path.

    Parameters
    ----------
    frames
        Any show of the house: its lines, pixels and caps are taken, not its light.
    """
    here = Path(__file__).resolve().parent
    return {
        **decoder_files(),
        **files_of(here / "c"),
        **files_of(here / "text"),
        "board.h": _header(frames).encode(),
    }


def _header(frames: FrameSet) -> str:
    caps = caps_of(frames)
    pixels, channels = frames.codes.shape[1:]
    zones = len(caps.zones) * (2 + 2 * len(caps.limits))
    rows = [
        f" *   {i}  {_plain(line.name)}: {line.count} pixels, {line.order}, "
        f"universe {line.universe}"
        for i, line in enumerate(frames.lines)
    ]
    rows += [" * Caps:"] if caps.names else []
    rows += [f" *   {_plain(name)}" for name in caps.names]
    kind = _plain(str(frames.meta.get("pixel_kind", "")))
    return "\n".join(
        [
            "/* What the player has to know of the house at compile time. Lines:",
            *rows,
            " */",
            "#ifndef BOARD_H",
            "#define BOARD_H",
            "",
            f"#define BOARD_LINES {len(frames.lines)}u",
            f"#define BOARD_PIXELS {pixels}u",
            f"#define BOARD_LONGEST {max(line.count for line in frames.lines)}u",
            f"#define BOARD_CHANNELS {channels}u",
            f"#define BOARD_FRAME {pixels * channels}u /* octets */",
            f"#define BOARD_MEMORY {2 * pixels * channels + zones}u /* of the player */",
            f'#define BOARD_KIND "{kind}" /* of pixel: wire.h */',
            "",
            "#endif",
            "",
        ]
    )


def _plain(text: str) -> str:
    """Return a name as it can stand in a C comment or string."""
    safe = "".join(c if c.isascii() and c.isprintable() and c not in '"\\' else "_" for c in text)
    return safe.replace("*/", "__").replace("/*", "__")[:60]
