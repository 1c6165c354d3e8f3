"""An independent renderer of light: paths traced through triangles, in physical units.

Embree (through trimesh) finds what a ray meets; everything else is written here from the laws of
photometry: I cos / d² of a point source, L = ρ E / π of a diffuse face, and the rendering equation
(Kajiya 1986 [P]) estimated with cosine-weighted paths (Pharr, Jakob and Humphreys, "Physically
Based Rendering", chapters 13 and 14 [P]). Shared with lumenmap are the house's faces, as the house
file gives them before they are united, the lamps' places and directions, and the ground's colour.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
import trimesh
from trimesh.ray.ray_pyembree import RayMeshIntersector

from lumenmap.pictures.scene.garden import LAWN
from lumenmap.pictures.scene.rails import lamp_places

#: Off a face before a ray starts (m), and how far the ground reaches around the house (m).
OFF, GROUND = 2e-3, 60.0
#: Windows and doors lie on their wall's plane in a house file: this far in front of it (m).
PROUD = 0.01
#: A rail at a board's lower edge lets this part of its lamps' light past to the board [C]; the same
#: assumption as lumenmap's.
PAST_RAIL = 0.10
#: Rays sent to Embree at once.
AT_ONCE = 400_000


def intensity(cosine):
    """A lamp's intensity by the cosine of the angle from straight ahead, 1 at 1.

    The beam that lumenmap assumes for a clear dome in a drilled hole [C], written a second time: 1
    ahead, 1/4 at 90°, nothing from 120° on, and straight lines in the cosine between.
    """
    return np.interp(cosine, [-0.5, 0.0, 1.0], [0.0, 0.25, 1.0])


@dataclass
class Sky:
    """Light from outside: luminance of the dome, and what a sun gives a face square to it (lux)."""

    dome: np.ndarray = field(default_factory=lambda: np.zeros(3))
    sun: np.ndarray = field(default_factory=lambda: np.zeros(3))
    towards: np.ndarray = field(default_factory=lambda: np.array([0.0, 0, 1]))


@dataclass
class Points:
    """Places on faces (K, 3), the normals of the sides looked at, and the triangles."""

    xyz: np.ndarray
    normal: np.ndarray
    triangle: np.ndarray

    def __getitem__(self, rows):
        return Points(self.xyz[rows], self.normal[rows], self.triangle[rows])

    def __len__(self):
        return len(self.xyz)


class World:
    """Triangles with diffuse reflectances, and lamps of so many candela at full."""

    def __init__(self, site, candela=1.0, more=()):
        parts, self.kind, self.name, colours, owner = [], [], [], [], []
        for face in (*site.house.faces, *more):
            normal = np.cross(face.corners, np.roll(face.corners, -1, axis=0)).sum(0)
            proud = PROUD * normal / np.linalg.norm(normal) * (face.kind in ("window", "door"))
            self._add(parts, owner, face.corners + proud)
            self.kind.append(face.kind)
            self.name.append(face.name)
            colours.append(face.colour)
        corners = np.concatenate([f.corners for f in site.house.faces])
        (left, near, _), (right, far, _) = corners.min(0) - GROUND, corners.max(0) + GROUND
        level = [[left, near, 0], [right, near, 0], [right, far, 0], [left, far, 0]]
        self._add(parts, owner, np.array(level))
        self.kind.append("ground")
        self.name.append("ground")
        colours.append(LAWN)
        triangles = np.concatenate(parts)
        mesh = trimesh.Trimesh(
            triangles.reshape(-1, 3), np.arange(3 * len(triangles)).reshape(-1, 3), process=False
        )
        self.owner, self.colour = np.array(owner), np.array(colours, float)
        self.normals = np.asarray(mesh.face_normals)
        self._origin = triangles[:, 0]
        self._rays = RayMeshIntersector(mesh)
        self.lamps, self.aims = lamp_places(site)
        self.candela = candela * np.asarray(site.pixels.lit, float)

    @staticmethod
    def _add(parts, owner, corners):
        fan = np.array([corners[[0, k, k + 1]] for k in range(1, len(corners) - 1)])
        area = np.linalg.norm(np.cross(fan[:, 1] - fan[:, 0], fan[:, 2] - fan[:, 0]), axis=1)
        fan = fan[area > 1e-9]
        owner += [owner[-1] + 1 if owner else 0] * len(fan)
        parts.append(fan)

    def first(self, starts, ways):
        """The triangle that each ray meets first (-1: none), and how far along it."""
        hit = np.concatenate(
            [
                self._rays.intersects_first(starts[i : i + AT_ONCE], ways[i : i + AT_ONCE])
                for i in range(0, len(starts), AT_ONCE)
            ]
            or [np.zeros(0, int)]
        )
        far = np.full(len(starts), np.inf)
        met = hit >= 0
        normal = self.normals[hit[met]]
        far[met] = ((self._origin[hit[met]] - starts[met]) * normal).sum(1) / (
            ways[met] * normal
        ).sum(1)
        return hit, far

    def meet(self, starts, ways):
        """`Points` where rays end, and which rays those are."""
        hit, far = self.first(starts, ways)
        met = np.flatnonzero(hit >= 0)
        normal = self.normals[hit[met]]
        normal = normal * -np.sign((ways[met] * normal).sum(1))[:, None]
        return Points(starts[met] + far[met, None] * ways[met], normal, hit[met]), met

    def reflects(self, at):
        """Diffuse reflectance (K, 3)."""
        return self.colour[self.owner[at.triangle]]

    def open(self, at, way, far):
        """Whether nothing stands between points and what is so far off along unit vectors."""
        starts = at.xyz + OFF * at.normal
        _, met = self.first(starts, way)
        return met > far - 2 * OFF

    def unshaded(self, at, rows=slice(None)):
        """(K, L) illuminance by each lamp (lux), as though nothing stood between."""
        way = self.lamps[rows] - at.xyz[:, None]
        square = np.maximum((way**2).sum(-1), 4e-4)
        way /= np.sqrt(square)[..., None]
        onto = np.maximum(np.einsum("klx,kx->kl", way, at.normal), 0)
        beam = intensity(-np.einsum("klx,lx->kl", way, self.aims[rows]))
        board = (np.array(self.kind) == "fascia")[self.owner[at.triangle]]
        past = np.where(board, PAST_RAIL, 1.0)[:, None]
        return self.candela[rows] * beam * onto * past / square

    def direct(self, at):
        """(K, L) illuminance by each lamp, with shadows: a ray for each point and lamp."""
        out = np.zeros((len(at), len(self.lamps)))
        step = max(1, AT_ONCE // max(1, len(self.lamps)))
        for first in range(0, len(at), step):
            some = at[first : first + step]
            light = self.unshaded(some)
            point, lamp = np.nonzero(light > 1e-7)
            way = self.lamps[lamp] - some.xyz[point]
            far = np.linalg.norm(way, axis=1)
            seen = self.open(some[point], way / far[:, None], far)
            out[first + point[seen], lamp[seen]] = light[point[seen], lamp[seen]]
        return out

    def one_lamp(self, at, light, rng):
        """(K, 3) an unbiased estimate of the illuminance by lamps, with one shadow ray a point."""
        out = np.zeros((len(at), 3))
        step = max(1, AT_ONCE // max(1, len(self.lamps)))
        shining = np.flatnonzero(light.any(1))
        for first in range(0, len(at) if len(shining) else 0, step):
            some = at[first : first + step]
            each = self.unshaded(some, shining) * light[shining].mean(1)
            total = each.sum(1)
            lit = np.flatnonzero(total > 1e-9)
            sums = np.cumsum(each[lit], axis=1)
            pick = (sums < rng.random((len(lit), 1)) * sums[:, -1:]).sum(1)
            lamp = shining[np.minimum(pick, len(shining) - 1)]
            way = self.lamps[lamp] - some.xyz[lit]
            far = np.linalg.norm(way, axis=1)
            seen = self.open(some[lit], way / far[:, None], far)
            tint = light[lamp] / light[lamp].mean(1, keepdims=True)
            out[first + lit] = (total[lit] * seen)[:, None] * tint
        return out

    def sunlit(self, at, sky):
        """(K, 3) illuminance by the sun, with shadows."""
        out = np.zeros((len(at), 3))
        if not sky.sun.any():
            return out
        towards = sky.towards / np.linalg.norm(sky.towards)
        onto = at.normal @ towards
        rows = np.flatnonzero(onto > 0)
        seen = self.open(at[rows], np.broadcast_to(towards, (len(rows), 3)), 1e3)
        out[rows[seen]] = onto[rows[seen], None] * sky.sun
        return out

    def around(self, at, light, sky, rng, paths=64, bounces=3):
        """(K, 3) illuminance that doesn't come straight from lamps or sun: sky and bounced light."""
        out = np.zeros((len(at), 3))
        for _ in range(paths):
            here, ray, through = at, np.arange(len(at)), np.ones((len(at), 3))
            for _ in range(bounces):
                way = _cosine(here.normal, rng)
                start = here.xyz + OFF * here.normal
                there, met = self.meet(start, way)
                gone = np.setdiff1d(np.arange(len(here)), met, assume_unique=True)
                # E = π L for a cosine-weighted way; ρ / π of each bounce is in `through`.
                np.add.at(out, ray[gone], np.pi * sky.dome * through[gone])
                ray, here = ray[met], there
                through = through[met] * self.reflects(there)
                falls = self.one_lamp(there, light, rng) + self.sunlit(there, sky)
                np.add.at(out, ray, through * falls)
        return out / paths


def _cosine(normals, rng):
    """Ways (K, 3) around normals, as likely as the cosine of the angle between."""
    u, v = rng.random((2, len(normals)))
    angle, radius = 2 * np.pi * u, np.sqrt(v)
    aside = np.where(np.abs(normals[:, :1]) > 0.9, [[0.0, 1, 0]], [[1.0, 0, 0]])
    x = np.cross(aside, normals)
    x /= np.linalg.norm(x, axis=1, keepdims=True)
    y = np.cross(normals, x)
    flat = radius[:, None] * (np.cos(angle)[:, None] * x + np.sin(angle)[:, None] * y)
    return flat + np.sqrt(1 - v)[:, None] * normals
