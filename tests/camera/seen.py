"""How far two pictures look apart: distances in OKLab."""

import numpy as np

#: sRGB to OKLab by Ottosson's published matrices, https://bottosson.github.io/posts/oklab/ [P].
_LMS = np.array(
    [
        [0.4122214708, 0.5363325363, 0.0514459929],
        [0.2119034982, 0.6806995451, 0.1073969566],
        [0.0883024619, 0.2817188376, 0.6299787005],
    ]
)
_LAB = np.array(
    [
        [0.2104542553, 0.7936177850, -0.0040720468],
        [1.9779984951, -2.4285922050, 0.4505937099],
        [0.0259040371, 0.7827717662, -0.8086757660],
    ]
)


def oklab(codes):
    """OKLab of sRGB codes (…, 3)."""
    v = np.asarray(codes, float) / 255
    linear = np.where(v <= 0.04045, v / 12.92, ((v + 0.055) / 1.055) ** 2.4)
    return np.cbrt(np.maximum(linear, 0) @ _LMS.T) @ _LAB.T


def error(one, two, where):
    """The mean distance of two pictures in OKLab over a mask (H, W)."""
    return float(np.linalg.norm(oklab(one) - oklab(two), axis=-1)[where].mean())
