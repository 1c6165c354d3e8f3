"""Curves of a level over distance or time."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

F = NDArray[np.float64]


def smooth(x: F) -> F:
    """Rise from 0 at x = 0 to 1 at x = 1, flat at both ends (3x² - 2x³); constant outside."""
    x = np.clip(x, 0.0, 1.0)
    return x * x * (3.0 - 2.0 * x)


def bump(x: F) -> F:
    """Rise from 0 at x = -1 to 1 at 0 and fall to 0 at 1 (a raised cosine); 0 outside."""
    return 0.5 + 0.5 * np.cos(np.pi * np.clip(x, -1.0, 1.0))


def bell(x: F) -> F:
    """Return exp(-x²), at least exp(-50)."""
    return np.exp(-np.minimum(x * x, 50.0))


def there_and_back(x: F) -> F:
    """Go from 0 to 1 and back as x goes from 0 to 1, slow at both ends; repeats."""
    return 0.5 - 0.5 * np.cos(2 * np.pi * x)


def norm(v: F) -> F:
    """Return the lengths (...) of vectors (..., 3), summed in one fixed order."""
    return np.asarray(np.sqrt(v[..., 0] ** 2 + v[..., 1] ** 2 + v[..., 2] ** 2))


#: CIE 1976 L*, the lightness of a luminance: its cube, and the straight piece near black.
#: (CIE 15, equations 8.3; [P])
_EPSILON = 216 / 24389
_KAPPA = 24389 / 27


def lightness(y: F) -> F:
    """Return how light a luminance 0..1 looks, 0..1: CIE 1976 L* / 100."""
    curved = 1.16 * np.cbrt(y) - 0.16
    return np.asarray(np.where(y > _EPSILON, curved, y * _KAPPA / 100))


def luminance(light: F) -> F:
    """Return the luminance 0..1 that looks ``light``, 0..1: the inverse of `lightness`."""
    curved = ((np.asarray(light) + 0.16) / 1.16) ** 3
    return np.asarray(np.where(curved > _EPSILON, curved, np.asarray(light) * 100 / _KAPPA))
