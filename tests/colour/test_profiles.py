"""Pictures in a telephone's own colour space, by their profile, against coloraide."""

import io

import numpy as np
import pytest
from coloraide import Color
from PIL import Image

from lumenmap.core.images import as_rgb
from tests.core.icc import P3, profile

#: As coloraide adapts the primaries to D50.
PRIMARIES = [
    Color("display-p3", list(rgb)).convert("xyz-d50")[:3] for rgb in np.eye(3, dtype=float)
]


def test_the_primaries_are_those_of_display_p3():
    assert np.abs(np.array(P3) - PRIMARIES).max() < 2e-4


@pytest.mark.parametrize(
    "rgb", [(0.8, 0.3, 0.2), (0.2, 0.7, 0.3), (0.3, 0.35, 0.8), (0.5, 0.5, 0.5)]
)
def test_a_picture_in_a_telephones_colour_space_has_the_colours_it_was_seen_in(rgb):
    """As coloraide converts Display P3, whose curve is sRGB's; here it is a power of 2.2."""
    linear = [v**2.2 for v in rgb]
    xyz = [sum(p[i] * v for p, v in zip(PRIMARIES, linear, strict=True)) for i in range(3)]
    wanted = Color("xyz-d50", xyz).convert("srgb").clip()[:3]
    codes = tuple(round(255 * v) for v in rgb)
    out = io.BytesIO()
    Image.new("RGB", (8, 8), codes).save(out, "PNG", icc_profile=profile(PRIMARIES))
    got = np.asarray(as_rgb(Image.open(out)))[0, 0] / 255
    assert np.abs(got - wanted).max() < 2 / 255
    if len(set(rgb)) > 1:
        assert np.abs(np.array(codes) / 255 - wanted).max() > 5 / 255, "else nothing is tested"
