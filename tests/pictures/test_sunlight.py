"""The sun's shadows by day: as fine as if every pixel were asked at many places."""

from dataclasses import replace

import numpy as np
import pytest

from lumenmap.pictures.light.sunlight import facing_sun, sunlit
from lumenmap.pictures.scene.fragments import fragments
from lumenmap.pictures.scene.look import Look
from lumenmap.pictures.scene.raster import rasterise
from lumenmap.pictures.scene.scene import scene
from lumenmap.pictures.scene.shadow import inside, occluders
from lumenmap.pictures.scene.sky import SKIES
from lumenmap.pictures.scene.surface import seen_side
from lumenmap.pictures.scene.view import view_camera
from lumenmap.site import Site

#: Places in a pixel each way, of the truth; none of them are those that are looked at.
MANY = 7


def shaded(points, normal, shades):
    """Whether a face is in the sun's way, for all points and faces."""
    towards = np.array(SKIES["day"].towards)
    way, start = 60 * towards / np.linalg.norm(towards), points + 0.02 * normal
    out = np.zeros(len(points), bool)
    for face in shades:
        if abs(way @ face.normal) > 1e-9:
            part = ((face.corners[0] - start) @ face.normal) / (way @ face.normal)
            out |= (part > 1e-3) & (part < 1) & inside(start + part[:, None] * way, face)
    return out


@pytest.mark.parametrize("name", ["alder-cottage", "juniper-flat"])
def test_edges_of_shadows_are_smooth(examples, name):
    site = Site.read(examples / name / "house.toml")
    camera, faces = view_camera(site, None, 240, 135), scene(site.house, Look("day"))
    seen, shades = fragments(rasterise(faces, camera), camera, len(faces)), occluders(faces)
    ours, middle, truth = [], [], []
    for index, face in enumerate(faces):
        surface = replace(face, normal=seen_side(face, camera.position))
        if face.kind not in ("wall", "roof", "ground") or not facing_sun(surface, SKIES["day"]):
            continue
        for rows in seen.of(index):
            whole = seen.sample[rows] < 0
            points = seen.points(surface, seen.rays(rows))
            ours.append(sunlit(surface, seen, rows, points, shades)[whole])
            middle.append(~shaded(points, surface.normal, shades)[whole])
            y, x = np.divmod(seen.pixel[rows][whole], camera.width)
            lit = np.zeros(whole.sum())
            for at in np.ndindex(MANY, MANY):
                dx, dy = (np.array(at) + 0.5) / MANY
                rays = camera.rays(np.stack([x + dx, y + dy], -1))
                lit += ~shaded(seen.points(surface, rays), surface.normal, shades)
            truth.append(lit / MANY**2)
    ours, middle, truth = (np.concatenate(each) for each in (ours, middle, truth))
    partly = (truth > 0) & (truth < 1)
    assert partly.sum() > 100
    off, before = (np.abs(each[partly] - truth[partly]) for each in (ours, middle))
    assert off.mean() < 0.06 < 0.2 < before.mean()
    assert (np.abs(ours - truth)[~partly] < 0.07).all()
