"""What a photograph tells of the house: how dark it is at night, and what its faces reflect.

A photograph is the light that fell on the house times what its faces reflect. The light changes
slowly from place to place and the faces quickly, so the photograph divided by its own blurred self
is the reflectance, up to the faces' average, which the house file's colours give (Land and McCann,
"Lightness and retinex theory", 1971 [P], for the idea).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

F32 = NDArray[np.float32]
B = NDArray[np.bool_]

#: Relative luminance of linear sRGB (IEC 61966-2-1).
LUMINANCE = np.array([0.2126, 0.7152, 0.0722], np.float32)
#: What faces of houses reflect at least and at most [C]: soot-black trim to fresh white paint.
REFLECTS = (0.03, 0.9)
#: Light on the house changes over this part of the photograph's width or more.
SMOOTH = 1 / 14
#: A photograph's colours follow those of dusk by no more than this factor in each channel.
TINT = 1.5
#: How far outlines of the model may be from the photograph's, the house's and that of the ground
#: (part of the width).
OUTLINE, HORIZON = 0.003, 0.012
#: Between the house's usual brightness and the sky's, what is nearer to the sky's is sky.
BETWEEN = (0.35, 0.75)


@dataclass(frozen=True, slots=True, eq=False)
class Night:
    """``dark`` (H, W, 3): the photograph at night, linear; ``reflects`` (H, W, 3): 0..1."""

    dark: F32
    reflects: F32


@dataclass(frozen=True, slots=True, eq=False)
class Model:
    """The model's picture from the same camera.

    Attributes
    ----------
    dark
        (H, W, 3) its light without lamps, linear.
    reflects
        (H, W, 3) the colours of its faces.
    house, sky
        (H, W) whether a pixel shows the house's walls and roofs, or the sky.
    """

    dark: F32
    reflects: F32
    house: B
    sky: B


def night(photo: F32, model: Model) -> Night:
    """Return a photograph (H, W, 3), linear, as it would be at night without lamps.

    A photograph that is darker than the model stays as it is.
    """
    reflects = _reflectance(photo, model)
    bright, aim = photo @ LUMINANCE, model.dark @ LUMINANCE
    where = model.house if model.house.any() else ~model.sky
    # Place by place: the middle of all may be a roof's in the one and a wall's in the other.
    gain = min(1.0, _middle(aim[where] / np.maximum(bright[where], 1e-6)))
    if gain == 1.0:
        return Night(photo, reflects)
    tint = model.dark[where].mean(0) / np.maximum(model.reflects[where].mean(0), 1e-3)
    cast = np.clip(tint / float(tint @ LUMINANCE), 1 / TINT, TINT)
    cast /= float(cast @ LUMINANCE)
    factor = np.full(bright.shape, gain, np.float32)
    if model.sky.any():
        own = min(gain * 3, _middle(aim[model.sky]) / max(_middle(bright[model.sky]), 1e-6))
        share = _sky_share(bright, model)
        factor = factor ** (1 - share) * np.float32(own) ** share
    return Night(np.asarray(photo * factor[..., None] * cast, np.float32), reflects)


def _middle(values: F32) -> float:
    return float(np.median(values)) if len(values) else 0.0


def _sky_share(bright: F32, model: Model) -> F32:
    """Return (H, W) 0..1: how much a pixel belongs to the sky, by its place and its brightness."""
    from scipy.ndimage import distance_transform_edt

    if not model.house.any():
        return model.sky.astype(np.float32)
    low, high = _middle(bright[model.house]), _middle(bright[model.sky])
    # A little inside of the house's outline: a white board is as bright as the sky behind it. The
    # horizon isn't known as well.
    within = distance_transform_edt(~model.sky) / bright.shape[1]
    near = np.clip(1.5 - within / np.where(model.house, OUTLINE, HORIZON), 0, 1)
    if high <= low * 1.3:  # an overcast or late sky can't be told by its brightness
        return np.asarray(near, np.float32)
    # By day the sky is darker further up: each part is held to the sky around it.
    around = _spread(bright, model.sky.astype(np.float32), SMOOTH * bright.shape[1])
    usual = np.clip(around, 1.3 * low, high)
    rise = (bright / low - 1) / (usual / low - 1)
    part = np.clip((rise - BETWEEN[0]) / (BETWEEN[1] - BETWEEN[0]), 0, 1)
    return np.asarray(near * np.maximum(part, model.sky * 0.0), np.float32)


def _spread(values: F32, weight: F32, sigma: float) -> F32:
    """Return the weighted means of values (H, W) around each pixel, everywhere."""
    from scipy.ndimage import gaussian_filter

    total = gaussian_filter(values * weight, sigma) + 1e-4 * float((values * weight).mean())
    return np.asarray(total / (gaussian_filter(weight, sigma) + 1e-4 * float(weight.mean())))


def _reflectance(photo: F32, model: Model) -> F32:
    """Return (H, W, 3) what each pixel reflects: the photograph over the light that fell on it."""
    weight = model.house.astype(np.float32)
    if not weight.any():
        weight = (~model.sky).astype(np.float32)
    bright = photo @ LUMINANCE
    sigma = SMOOTH * bright.shape[1]
    usual = _spread(model.reflects @ LUMINANCE, weight, sigma)
    fell = _spread(bright, weight, sigma) / np.maximum(usual, 1e-3)
    found = photo / np.maximum(fell, 1e-5)[..., None]
    return np.asarray(np.clip(found, *REFLECTS), np.float32)
