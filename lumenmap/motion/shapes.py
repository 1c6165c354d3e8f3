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
