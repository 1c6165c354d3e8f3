"""The RGB and XYZ spaces of ``color()`` in CSS Color 4, section 10, each to linear sRGB.

Matrices are those of its sample code: fractions where it has them [P].
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from lumenmap.colour.matrix import XYZ_TO_SRGB, Matrix, times
from lumenmap.colour.transfer import to_linear

F = NDArray[np.float64]

#: From white D50 to D65 (Bradford adaptation).
D50_TO_D65: Matrix = (
    (0.955473421488075, -0.02309845494876471, 0.06325924320057072),
    (-0.0283697093338637, 1.0099953980813041, 0.021041441191917323),
    (0.012314014864481998, -0.020507649298898964, 1.330365926242124),
)
_P3_TO_XYZ: Matrix = (
    (608311 / 1250200, 189793 / 714400, 198249 / 1000160),
    (35783 / 156275, 247089 / 357200, 198249 / 2500400),
    (0.0, 32229 / 714400, 5220557 / 5000800),
)
_A98_TO_XYZ: Matrix = (
    (573536 / 994567, 263643 / 1420810, 187206 / 994567),
    (591459 / 1989134, 6239551 / 9945670, 374412 / 4972835),
    (53769 / 1989134, 351524 / 4972835, 4929758 / 4972835),
)
_REC2020_TO_XYZ: Matrix = (
    (63426534 / 99577255, 20160776 / 139408157, 47086771 / 278816314),
    (26158966 / 99577255, 472592308 / 697040785, 8267143 / 139408157),
    (0.0, 19567812 / 697040785, 295819943 / 278816314),
)
_PROPHOTO_TO_XYZ_D50: Matrix = (
    (0.7977666449006423, 0.13518129740053308, 0.0313477341283922),
    (0.2880748288194013, 0.711835234241873, 0.00008993693872564),
    (0.0, 0.0, 0.8251046025104602),
)


def from_xyz(xyz: F) -> F:
    """Return linear sRGB of X, Y, Z (..., 3) relative to D65."""
    return times(XYZ_TO_SRGB, xyz)


def from_xyz_d50(xyz: F) -> F:
    """Return linear sRGB of X, Y, Z (..., 3) relative to D50."""
    return from_xyz(times(D50_TO_D65, xyz))


def _power(value: F, exponent: float) -> F:
    return np.asarray(np.copysign(np.abs(value) ** exponent, value))


def _prophoto(value: F) -> F:
    linear = np.where(np.abs(value) < 16 / 512, value / 16, _power(value, 1.8))
    return from_xyz_d50(times(_PROPHOTO_TO_XYZ_D50, linear))


#: Name to the function that takes its three numbers to linear sRGB. The curve of rec2020 is that of
#: BT.1886, a power of 2.4, as CSS Color 4 has it since 2025.
SPACES: dict[str, Callable[[F], F]] = {
    "srgb": to_linear,
    "srgb-linear": lambda v: v,
    "display-p3": lambda v: from_xyz(times(_P3_TO_XYZ, to_linear(v))),
    "display-p3-linear": lambda v: from_xyz(times(_P3_TO_XYZ, v)),
    "a98-rgb": lambda v: from_xyz(times(_A98_TO_XYZ, _power(v, 563 / 256))),
    "prophoto-rgb": _prophoto,
    "rec2020": lambda v: from_xyz(times(_REC2020_TO_XYZ, _power(v, 2.4))),
    "xyz": from_xyz,
    "xyz-d65": from_xyz,
    "xyz-d50": from_xyz_d50,
}
