"""What Mitsuba needs of a house: meshes, a camera, lamps; and its pictures in linear light.

Mitsuba 3 (Jakob, Speierer, Roussel and Vicini, "Dr.Jit: a just-in-time compiler for differentiable
rendering", 2022) shares nothing with lumenmap but the house's faces, as the house file gives them
before they are united, and the lamps' places and directions.
"""

from __future__ import annotations

import mitsuba as mi
import numpy as np

from lumenmap.pictures.scene.rails import lamp_places

mi.set_variant("scalar_rgb")
mi.logger().clear_appenders()  # no progress bar in the output

#: Windows and doors lie on their wall's plane in a house file: this far in front of it (m).
PROUD = 0.01
#: Angles (degrees) between which a lamp's beam is a straight line: spots of Mitsuba's, one inside
#: the other, each of which falls off linearly.
ANGLES = np.array([0, 10, 20, 30, 40, 50, 60, 70, 80, 90, 97.5, 105, 112.5, 120.0])


def intensity(degrees):
    """A lamp's intensity at an angle from straight ahead; `tests.pictures.tracer.intensity`."""
    return np.interp(np.cos(np.radians(degrees)), [-0.5, 0, 1], [0, 0.25, 1])


def rgb(values):
    """Three values, as Mitsuba reads them."""
    return {"type": "rgb", "value": [float(v) for v in np.maximum(values, 0)]}


def diffuse(colour):
    """A matt face of a colour (3,), or of a picture (H, W, 3) of colours that repeats."""
    colour = np.clip(np.asarray(colour, np.float32), 0.005, 0.95)
    if colour.ndim == 1:
        paint = rgb(colour)
    else:
        picture = mi.Bitmap(np.ascontiguousarray(colour))
        paint = {"type": "bitmap", "bitmap": picture, "raw": True, "wrap_mode": "repeat"}
    return {"type": "twosided", "bsdf": {"type": "diffuse", "reflectance": paint}}


def mesh(corners, triangles, material, uv=None):
    """A mesh of corners (K, 3) m and triangles (T, 3), with places (K, 2) in its picture."""
    made = mi.Properties()
    made["mesh_bsdf"] = mi.load_dict(material)
    shape = mi.Mesh("mesh", len(corners), len(triangles), made, has_vertex_texcoords=uv is not None)
    fields = mi.traverse(shape)
    fields["vertex_positions"] = np.asarray(corners, np.float32).ravel()
    fields["faces"] = np.asarray(triangles, np.uint32).ravel()
    if uv is not None:
        fields["vertex_texcoords"] = np.asarray(uv, np.float32).ravel()
    fields.update()
    return shape


def flat(corners, material, tile=None):
    """A flat convex face; its picture is ``tile`` m wide, upright."""
    corners = np.asarray(corners, float)
    uv = None
    if tile:
        normal = normal_of(corners)
        up = np.array([0, 0, 1.0]) - normal[2] * normal
        up = up / np.linalg.norm(up) if np.linalg.norm(up) > 1e-3 else np.array([0, 1.0, 0])
        uv = np.stack([corners @ np.cross(up, normal), corners @ up], -1) / tile
    fan = [[0, k, k + 1] for k in range(1, len(corners) - 1)]
    return mesh(corners, fan, material, uv)


def normal_of(corners):
    """The unit normal of a flat face."""
    normal = np.cross(corners, np.roll(corners, -1, axis=0)).sum(0)
    return normal / np.linalg.norm(normal)


def corners_of(face):
    """The corners of a face of the house; a window's are in front of its wall."""
    proud = PROUD if face.kind in ("window", "door") else 0.0
    return face.corners + proud * normal_of(face.corners)


def ground(site, reach=60.0):
    """The corners of the ground, this far around the house (m)."""
    corners = np.concatenate([f.corners for f in site.house.faces])
    (left, near, _), (right, far, _) = corners.min(0) - reach, corners.max(0) + reach
    return [[left, near, 0], [right, near, 0], [right, far, 0], [left, far, 0]]


def lamps(site, light, candela):
    """The spots of a house's lamps, so many candela at full, in a light (N, 3)."""
    places, aims = lamp_places(site)
    steps = -np.diff(intensity(ANGLES))
    found = {}
    for n in np.flatnonzero((site.pixels.lit > 0) & light.any(1)):
        aside = [0, 0, 1] if abs(aims[n, 2]) < 0.9 else [1, 0, 0]
        ahead = (places[n] + aims[n]).tolist()
        turned = mi.ScalarTransform4f().look_at(places[n].tolist(), ahead, aside)
        for k, step in enumerate(steps):
            found[f"lamp {n} {k}"] = {
                "type": "spot",
                "to_world": turned,
                "intensity": rgb(candela * step * light[n]),
                "beam_width": max(float(ANGLES[k]), 1e-4),
                "cutoff_angle": float(ANGLES[k + 1]),
            }
    return found


def suns(way, beam, wide, count):
    """Parallel lights around a direction; they give a white face square to it a radiance (3,)."""
    rng = np.random.default_rng(2)
    ways = way / np.linalg.norm(way) + rng.normal(0, wide, (count, 3))
    ways[:, 2] = np.abs(ways[:, 2])
    return {
        f"sun {n}": {
            "type": "directional",
            "direction": (-one / np.linalg.norm(one)).tolist(),
            "irradiance": rgb(np.pi * np.asarray(beam) / count),
        }
        for n, one in enumerate(ways)
    }


def sensor(camera):
    """Mitsuba's pinhole for one of lumenmap's cameras; its x points left, its y up."""
    placed = np.eye(4)
    placed[:3, :3] = (camera.turn * [[-1], [-1], [1]]).T
    placed[:3, 3] = camera.position
    size = {"width": camera.width, "height": camera.height}
    return {
        "type": "perspective",
        "fov": float(2 * np.degrees(np.arctan(camera.width / 2 / camera.focal))),
        "fov_axis": "x",
        "near_clip": 0.05,
        "far_clip": 1000.0,
        "principal_point_offset_x": float(0.5 - camera.centre[0] / camera.width),
        "principal_point_offset_y": float(0.5 - camera.centre[1] / camera.height),
        "to_world": mi.ScalarTransform4f(placed),
        "film": {
            "type": "hdrfilm",
            **size,
            "pixel_format": "rgb",
            "component_format": "float32",
            "rfilter": {"type": "box"},
        },
    }


def seen(shapes, camera, lights, bounces, samples, seed=1):
    """(H, W, 3) radiance of shapes in a camera: paths from the lens, which suits large lights."""
    return _rendered("path", shapes, camera, lights, bounces, samples, seed)


def shone(shapes, camera, lights, bounces, samples, seed=1):
    """(H, W, 3) radiance likewise, by paths from the lights, which suits many small ones.

    The camera's principal point must be in the middle: Mitsuba leaves out what isn't in the
    picture of such a camera.
    """
    assert np.allclose(camera.centre, (camera.width / 2, camera.height / 2))
    return _rendered("ptracer", shapes, camera, lights, bounces, samples, seed)


def _rendered(integrator, shapes, camera, lights, bounces, samples, seed):
    numbered = {f"shape {n}": shape for n, shape in enumerate(shapes)}
    whole = mi.load_dict({"type": "scene", "sensor": sensor(camera), **numbered, **lights})
    method = mi.load_dict({"type": integrator, "max_depth": bounces + 2})
    return np.array(mi.render(whole, integrator=method, spp=samples, seed=seed))
