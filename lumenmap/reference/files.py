"""The files that are written: what is in each, the frame formats, and the formats' versions."""

from __future__ import annotations

from typing import Any

from lumenmap.controller.files.frames import FORMAT, VERSION
from lumenmap.controller.files.registry import FLASH_SUFFIX, Format, formats
from lumenmap.controller.files.sidecar import Sidecar, SidecarLine
from lumenmap.controller.flash import image
from lumenmap.reference.keys import section
from lumenmap.reference.page import Section, meaning

_KINDS = {bool: "yes or no", int: "whole number", float: "number", str: "text"}


def output_section() -> Section:
    """Return what `lumenmap make` writes."""
    rows = (
        (
            "preview.gif",
            "The show on a picture of the house at night, from the codes that the controller gets.",
        ),
        (
            "frames.rgb",
            "frames × pixels × channels bytes without a header: pixels in wiring order, channels "
            "in each line's colour order. In Python: "
            'numpy.fromfile("frames.rgb", "u1").reshape(frames, pixels, channels).',
        ),
        ("frames.json", "What those bytes are, their SHA-256, the budgets and the peak currents."),
        (
            "account.txt",
            "Every budget with its peak, mean and margin, counted from the bytes with that "
            "SHA-256.",
        ),
        (
            "report.json",
            "The current in every supply, branch and wire; frames dimmed, and how far; data lines "
            "too long for the frame rate; flashes.",
        ),
    )
    return Section("lumenmap make", "", ("file", "holds"), rows)


def sidecar_sections() -> tuple[Section, ...]:
    """Return the keys of frames.json that a reader may rely on."""
    return (
        section(Sidecar, "frames.json", given=True),
        section(SidecarLine, "frames.json, lines", given=True),
    )


def format_sections() -> tuple[Section, ...]:
    """Return the frame formats, and the options of each."""
    known = formats()
    rows = tuple((f.name, f.suffix, f"{f.summary.rstrip('.')}.") for f in known.values())
    listing = Section(
        "lumenmap export --format NAME", "", ("format", "file", "holds"), rows, code=(0, 1)
    )
    options = tuple(row for f in known.values() for row in _options(f))
    given = Section(
        "lumenmap export --option NAME=VALUE", "", ("option", "value", "of format"), options
    )
    return listing, given


def version_section() -> Section:
    """Return the version of each format that is ours."""
    rows = (
        (FORMAT, f"version {VERSION}", "frames.json and frames.rgb"),
        (
            f"flash image ({FLASH_SUFFIX})",
            f"version {image.VERSION}",
            "frames.lmfi; FORMAT.md next to it",
        ),
    )
    return Section(
        "Versions of the formats",
        "A reader refuses a version that it doesn't know.",
        ("format", "version", "files"),
        rows,
    )


def _options(made: Format) -> list[tuple[str, str, str]]:
    return [
        (name, _KINDS.get(kind, "text"), meaning(made.name, _written(default)))
        for name, (kind, default) in made.options.items()
    ]


def _written(default: Any) -> str:
    return {True: "yes", False: "no"}[default] if isinstance(default, bool) else str(default)
