"""The light of a pixel's dies: mixing and white balance by CIE 1931.

A data sheet gives each die's dominant wavelength and its luminous intensity. The spectrum of a
die is close to a bell curve of known width; its peak is placed so that it has that dominant
wavelength. The rest is the arithmetic of the standard observer.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property, lru_cache

import numpy as np
from numpy.typing import ArrayLike, NDArray

from lumenmap.colour.cie1931 import MATCHING, WAVELENGTHS, tristimulus, xy
from lumenmap.colour.matrix import SRGB_TO_XYZ, XYZ_TO_SRGB, Matrix, times

F = NDArray[np.float64]

#: Width at half height (nm) of AlInGaP red, InGaN green and blue dies: common practice, no source.
WIDTHS = (18.0, 34.0, 22.0)
#: Chromaticity of the equal-energy light that dominant wavelengths are measured from (CIE 15).
_EQUAL = (1 / 3, 1 / 3)
#: Luminance of the pixels' full white in pictures, relative to the screen's white.
EXPOSURE = 0.7


@dataclass(frozen=True)
class Dies:
    """Red, green and blue dies of one pixel, and the white one if it has one.

    Attributes
    ----------
    dominant_nm
        Dominant wavelengths.
    intensity
        Luminous intensities at full, in any one unit: only their ratios count.
    white_kelvin, white_intensity
        Colour temperature of the white die, and its intensity in the unit of the others'.
    """

    dominant_nm: tuple[float, ...]
    intensity: tuple[float, ...]
    white_kelvin: float | None = None
    white_intensity: float | None = None

    @cached_property
    def xyz(self) -> F:
        """(3, 3): column c is X, Y, Z of channel c at full; all three together have Y = 1."""
        each = [
            _of_luminance(_spectrum(nm, width), y)
            for nm, width, y in zip(self.dominant_nm, WIDTHS, self.intensity, strict=True)
        ]
        return np.asarray(np.stack(each, -1) / sum(self.intensity))

    @cached_property
    def white_die(self) -> F | None:
        """(3,) light of the red, green and blue dies that looks as the white die at full.

        A channel is negative if the white lies beyond what the three can make.
        """
        if self.white_kelvin is None or self.white_intensity is None:
            return None
        share = self.white_intensity / sum(self.intensity)
        return self.duty(_of_luminance(radiator(self.white_kelvin), share))

    def seen(self, light: ArrayLike) -> F:
        """Return the X, Y, Z (..., 3) that linear light (..., 3) makes."""
        return times(_rows(self.xyz), light)

    def duty(self, xyz: ArrayLike) -> F:
        """Return the linear light (..., 3) that makes X, Y, Z (..., 3).

        Negative where the dies can't make that colour, above 1 where they can't make enough of it.
        """
        return times(_rows(np.asarray(np.linalg.inv(self.xyz))), xyz)

    @cached_property
    def balance(self) -> F:
        """(3,) linear light, the largest 1, that together looks as sRGB's white (D65)."""
        duty = self.duty(times(SRGB_TO_XYZ, (1.0, 1.0, 1.0)))
        return np.asarray(duty / duty.max())

    @property
    def make_white(self) -> bool:
        """Whether the three coloured dies can make sRGB's white."""
        return bool((self.duty(times(SRGB_TO_XYZ, (1.0, 1.0, 1.0))) > 0).all())

    @cached_property
    def matching(self) -> F:
        """(3, 3): takes linear sRGB to the light that looks like it; white's largest is 1."""
        columns = [self.duty(times(SRGB_TO_XYZ, unit)) for unit in np.eye(3)]
        matrix = np.stack(columns, -1)
        return np.asarray(matrix / matrix.sum(-1).max())

    @cached_property
    def even(self) -> Matrix:
        """(3, 3): takes linear sRGB to `matching` light over `balance`: white is 1, 1, 1.

        Shows are composed in this space, where a white layer leaves what it multiplies unchanged.
        """
        rows = self.matching / self.balance[:, None]
        return _rows(rows / rows.sum(-1, keepdims=True))

    @cached_property
    def screen(self) -> F:
        """(3, 3): takes light to the linear sRGB that looks like it: `matching` the other way."""
        return np.asarray(np.linalg.inv(self.matching))

    def on_screen(self, light: ArrayLike) -> F:
        """Return linear sRGB 0..1 that shows on a screen what linear light looks like.

        Colours that the screen can't show are mixed with grey of their luminance until it can.
        Full white has `EXPOSURE` of the screen's luminance, which leaves room for its tint.
        """
        rgb = times(XYZ_TO_SRGB, self.seen(light)) * EXPOSURE
        grey = np.clip(times(SRGB_TO_XYZ, rgb)[..., 1:2], 0, 1)
        with np.errstate(divide="ignore", invalid="ignore"):
            low = np.where(rgb < 0, grey / (grey - rgb), 1.0)
            high = np.where(rgb > 1, (1 - grey) / (rgb - grey), 1.0)
        part = np.minimum(low, high).min(-1, keepdims=True)
        return np.asarray(np.clip(grey + (rgb - grey) * np.where(np.isfinite(part), part, 0), 0, 1))


def _rows(matrix: F) -> Matrix:
    return tuple((float(row[0]), float(row[1]), float(row[2])) for row in matrix)


def _of_luminance(spectrum: F, luminance: float) -> F:
    xyz = tristimulus(spectrum)
    return np.asarray(xyz * (luminance / xyz[1]))


def bell(peak: float, width: float) -> F:
    """Return a die's spectrum (81,): a bell with its ``peak`` and ``width`` at half height, nm."""
    return np.asarray(np.exp(-4 * np.log(2) * ((WAVELENGTHS - peak) / width) ** 2))


def radiator(kelvin: float) -> F:
    """Return Planck's law on `WAVELENGTHS`, relative: the light of a white die of this temperature.

    White dies are sorted by the black body that they look like most (ANSI C78.377 [M]).
    """
    metres = WAVELENGTHS * 1e-9
    # Second radiation constant h·c/k, 0.014387768775 m·K (CODATA 2018 [M]).
    return np.asarray(metres**-5 / np.expm1(0.014387768775 / (metres * kelvin)) / 1e30)


@lru_cache(maxsize=64)
def _spectrum(dominant: float, width: float) -> F:
    """Put the bell's peak so that it has this dominant wavelength, by bisection."""
    low, high = dominant - 40, dominant + 40
    for _ in range(50):
        middle = (low + high) / 2
        if dominant_wavelength(xy(tristimulus(bell(middle, width)))) < dominant:
            low = middle
        else:
            high = middle
    return bell((low + high) / 2, width)


def dominant_wavelength(chromaticity: ArrayLike) -> float:
    """Return the wavelength (nm) whose hue a chromaticity x, y has, from the equal-energy light.

    Purples have none; the nearest end of the spectrum is returned.
    """
    fine, clockwise, middle = _bearings()
    target = np.asarray(chromaticity) - _EQUAL
    own = float(np.arctan2(target[1], target[0]))
    # The locus turns clockwise; the bearing is brought into the same turn.
    own += 2 * np.pi * round((middle - own) / (2 * np.pi))
    return float(np.interp(-own, clockwise, fine))


@lru_cache(maxsize=1)
def _bearings() -> tuple[F, F, float]:
    """Return wavelengths (nm), their directions from the equal-energy light, and the middle one.

    The directions are clockwise, for they rise so; the mean of all is counter-clockwise.
    """
    fine = np.arange(390.0, 700.5, 0.5)
    locus = np.stack([np.interp(fine, WAVELENGTHS, MATCHING[:, i]) for i in range(3)], -1)
    away = xy(locus) - _EQUAL
    bearing = np.unwrap(np.arctan2(away[:, 1], away[:, 0]))
    return fine, -bearing, float(bearing.mean())
