"""`write_touch_page`: a page on which the points of a house are marked on its photograph by touch.

It needs no network and no program: what was marked is saved from the page as a file of marks, and
the browser keeps it until then.
"""

from __future__ import annotations

import base64
import io
import json
from importlib import resources
from pathlib import Path

import numpy as np
from PIL import Image

from lumenmap.camera.marks.file import starter
from lumenmap.camera.marks.photo import Photo, read_photo
from lumenmap.camera.marks.picture import HEIGHT, LOOK, WIDTH, visible_points
from lumenmap.core.files import write_whole
from lumenmap.pictures.drawn.preview import Preview
from lumenmap.site import Site

#: Longest side of the photograph on the page (pixels): corners can be seen, and it can be sent.
SHOWN = 2400
#: JPEG quality of both pictures [C].
QUALITY = 82
#: Marks that are enough: see `lumenmap.camera.lens.pose`.
ENOUGH, BETTER = 5, 8


def write_touch_page(path: Path, site: Site, house: Path, photo: Path) -> int:
    """Write the page for a photograph; return how many points it asks for.

    Raises
    ------
    InputError
        Not a photograph, or a path that can't be written.
    """
    read = read_photo(photo)
    points, places = visible_points(site)
    model = Preview(site, width=WIDTH, height=HEIGHT, view="street", look=LOOK)
    data = {
        "house": site.house.name,
        "file": f"{photo.stem}.marks.toml",
        "head": starter(photo.name, house, [], explained=False),
        "size": read.size,
        "photo": _shown(read),
        "model": _jpeg(Image.fromarray(model.still(np.zeros((len(site.pixels), 3), np.float32)))),
        "enough": ENOUGH,
        "better": BETTER,
        "points": [
            {"name": p.name, "words": p.words, "x": x / WIDTH, "y": y / HEIGHT}
            for p, (x, y) in zip(points, places.tolist(), strict=True)
        ],
    }
    # No "<" in a name can end the script element early.
    text = json.dumps(data, separators=(",", ":")).replace("<", "\\u003c")
    parts = resources.files("lumenmap.camera.marks")
    html = parts.joinpath("touch.html").read_text("utf-8")
    script = parts.joinpath("touch.js").read_text("utf-8")
    write_whole(path, html.replace("/*SCRIPT*/", script).replace("/*DATA*/", text).encode())
    return len(points)


def _shown(photo: Photo) -> str:
    image = Image.fromarray(photo.codes)
    image.thumbnail((SHOWN, SHOWN))
    return _jpeg(image)


def _jpeg(image: Image.Image) -> str:
    out = io.BytesIO()
    image.save(out, "JPEG", quality=QUALITY)
    return f"data:image/jpeg;base64,{base64.b64encode(out.getvalue()).decode()}"
