"""`site_digest`: what light in a picture depends on, of a house and its pixels, in a few digits."""

from __future__ import annotations

import hashlib

from lumenmap.site import Site


def site_digest(site: Site) -> str:
    """Return 64 hexadecimal digits of a house's surfaces, and of where its pixels are and face."""
    found = hashlib.sha256()
    for face in site.house.faces:
        found.update(f"{face.name} {face.kind} {face.colour} {face.mass}".encode())
        found.update(face.corners.tobytes())
    for edge in site.house.edges.values():
        found.update(f"{edge.name} {edge.kind} {edge.mass}".encode())
        found.update(edge.points.tobytes())
    pixels = site.pixels
    for array in (pixels.xyz, pixels.facing, pixels.edge, pixels.lit):
        found.update(array.tobytes())
    return found.hexdigest()
