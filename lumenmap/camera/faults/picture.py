"""A picture of what films say: pixels on the dark house, green where they fit the map."""

from __future__ import annotations

from pathlib import Path

import numpy as np
from PIL import Image, ImageDraw, ImageFont

from lumenmap.camera.evidence.evidence import Evidence
from lumenmap.camera.faults.diagnose import Diagnosis
from lumenmap.pictures.encode.stills import write_still
from lumenmap.site import Site

#: Width of the picture in pixels, at least.
WIDTH = 1280
#: The dark house is made this much brighter.
BRIGHTER = 2.2
RIGHT, HOLE = "#19c37d", "#8fa3b8"
#: A colour for each fault, told apart by people who see red and green alike: Okabe and Ito, "Color
#: universal design", 2008 [P].
FAULTS = ("#d55e00", "#56b4e9", "#e69f00", "#cc79a7", "#f0e442", "#0072b2")
INK, PAPER = "#10151c", "#ffffff"


def draw_faults(path: Path, site: Site, diagnosis: Diagnosis) -> None:
    """Write the picture as PNG: what each film shows, one under another."""
    panels = [_panel(site, film, diagnosis) for film in diagnosis.films]
    sheet = Image.new("RGB", (max(p.width for p in panels), sum(p.height for p in panels)), INK)
    top = 0
    for panel in panels:
        sheet.paste(panel, (0, top))
        top += panel.height
    _key(ImageDraw.Draw(sheet), ImageFont.load_default(size=15), diagnosis)
    write_still(path, np.asarray(sheet), title=f"Survey of {site.house.name}")


def _panel(site: Site, evidence: Evidence, diagnosis: Diagnosis) -> Image.Image:
    """Return what one film shows, with its name if there are others."""
    film, seen, spots = evidence.film, evidence.seen, evidence.spots
    w, h = film.size
    scale = max(1.0, WIDTH / w)
    dark = np.clip(film.dark * BRIGHTER + 12, 0, 255).astype(np.uint8)
    image = Image.fromarray(dark).resize((round(w * scale), round(h * scale)))
    pen = ImageDraw.Draw(image)
    colour = dict.fromkeys(range(len(site.pixels)), RIGHT)
    for number, fault in reversed(list(enumerate(diagnosis.faults))):
        colour |= dict.fromkeys(fault.pixels, FAULTS[number % len(FAULTS)])
    for x, y in seen.places[seen.usable] * scale:
        pen.point((float(x), float(y)), fill=HOLE)
    holes = diagnosis.wired.holes[spots.number]
    off = np.linalg.norm(spots.place - seen.places[holes], axis=1)
    fits = (holes >= 0) & (off < seen.across[holes])  # the others are reflections, or not ours
    for n, (x, y), good in zip(spots.number.tolist(), spots.place * scale, fits, strict=True):
        r = 2.5 if good else 1.5
        pen.ellipse((x - r, y - r, x + r, y + r), fill=colour[n] if good else HOLE)
    for number, fault in enumerate(diagnosis.faults):
        ink = FAULTS[number % len(FAULTS)]
        if fault.kind == "dark":
            for n in fault.pixels:
                x, y = map(float, seen.places[n] * scale)
                pen.ellipse((x - 7, y - 7, x + 7, y + 7), outline=ink, width=2)
    if len(diagnosis.films) > 1:
        font = ImageFont.load_default(size=18)
        box = pen.textbbox((14, image.height - 34), evidence.name, font=font)
        pen.rectangle((8, box[1] - 5, box[2] + 6, box[3] + 5), fill=PAPER)
        pen.text((14, image.height - 34), evidence.name, INK, font=font)
    return image


def _key(
    pen: ImageDraw.ImageDraw,
    font: ImageFont.ImageFont | ImageFont.FreeTypeFont,
    diagnosis: Diagnosis,
) -> None:
    """Write the faults in words under each other, each with its colour."""
    lines = [
        (FAULTS[i % len(FAULTS)], f"{i + 1}. {f.words}") for i, f in enumerate(diagnosis.faults)
    ]
    lines += [(HOLE, said) for said in (*diagnosis.doubts, *diagnosis.contradictions)]
    if diagnosis.right:
        lines = [(RIGHT, "Every pixel that was seen is where the map has it.")]
    y = 10.0
    for ink, text in lines:
        shown = text if len(text) < 150 else text[:147] + "…"
        box = pen.textbbox((30, y), shown, font=font)
        pen.rectangle((8, box[1] - 4, box[2] + 6, box[3] + 4), fill=PAPER)
        pen.ellipse((13, box[1] + 1, 25, box[1] + 13), fill=ink)
        pen.text((30, y), shown, INK, font=font)
        y = box[3] + 8
