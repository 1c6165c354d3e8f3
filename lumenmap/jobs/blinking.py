"""The blinking that is filmed for a survey: as frames inside the house's budgets."""

from __future__ import annotations

from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from lumenmap.camera.blinks.blinking import FPS, Blinking
from lumenmap.camera.blinks.groups import groups
from lumenmap.codes.flashes import ADVICE
from lumenmap.codes.flashing import FlashCounter
from lumenmap.codes.order import to_wire
from lumenmap.controller.files.frameset import FrameLine, FrameSet
from lumenmap.core.errors import CheckError, InputError
from lumenmap.parts.light import as_seen
from lumenmap.power.limits.limit import limit
from lumenmap.site import Site

#: Bright enough for a phone after dusk, dim enough that little clips [C]; and the brightest.
BRIGHTNESS, MOST_BRIGHTNESS = 0.2, 0.5


def blinking_of(site: Site, *, measured: bool = False) -> Blinking:
    """Return the blinking of a house; with groups at its end if light is ``measured``.

    They take about 13 s. The light of pixels with a white channel isn't measured.
    """
    measured = measured and site.pixels.kind.channels == 3
    starts = tuple(map(int, groups(site.pixels))) if measured else ()
    return Blinking(len(site.pixels), site.pixels.kind.channels, starts=starts)


def blinking_frames(house: Path, brightness: float = BRIGHTNESS) -> tuple[FrameSet, list[str]]:
    """Return the blinking as frames inside the house's budgets, and how to film it.

    Raises
    ------
    InputError
        Anything wrong with the house, or too bright.
    DangerError
        Its wiring is dangerous.
    CheckError
        The blinking flashes too often.
    """
    if not 0 < brightness <= MOST_BRIGHTNESS:
        raise InputError(
            f"is {brightness:g}; expected more than 0, at most {MOST_BRIGHTNESS:g}: brighter "
            "pixels run into each other in a film",
            key="brightness",
        )
    site = Site.read(house)
    site.verdict.require_safe()
    blinking = blinking_of(site, measured=True)
    codes = blinking_codes(site, blinking, brightness)
    watch = FlashCounter(FPS, site.flash_regions)
    watch.add(as_seen(codes.astype(np.float32) / np.float32(255), site.house.kind))
    if found := watch.findings():
        raise CheckError(f"the blinking isn't sent: {found[0]}. {ADVICE}")
    spans = site.pixels.lines
    wired = to_wire(codes, [(s.slice, s.order) for s in spans])
    lines = tuple(FrameLine(s.name, s.first, s.count, s.universe, s.order) for s in spans)
    return FrameSet(wired, FPS, lines, house=site.house.file), _how_to_film(blinking)


def blinking_codes(site: Site, blinking: Blinking, brightness: float) -> NDArray[np.uint8]:
    """Return (T, N, C) the blinking inside the house's budgets."""
    return limit(blinking.light(brightness), site.budgets).codes


def _how_to_film(blinking: Blinking) -> list[str]:
    return [
        f"The house blinks for {blinking.seconds:.0f} s: all on three times, then each pixel its "
        "number, then red, green and blue"
        + (", then half of the house at a time." if blinking.starts else "."),
        "Film it after dusk from the street, with the whole house in the picture, in landscape.",
        "The house's other sides are films of their own; give them all together.",
        "Lean the phone on something, don't zoom, and film one whole round from before the three "
        "flashes.",
        "It blinks at most 2.5 times a second. Tell people nearby first: flashing light can "
        "trigger seizures in some. Stay on the pavement while you look through the phone.",
    ]
