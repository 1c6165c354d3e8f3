"""Pictures come as sRGB in 8 bits, however their file has them; of profiles see `tests.colour`."""

import io

import numpy as np
import pytest
from PIL import Image

from lumenmap.camera.marks.photo import read_photo
from lumenmap.core.images import as_rgb
from tests.core.icc import profile


def opened(image, kind, **words):
    out = io.BytesIO()
    image.save(out, kind, **words)
    return Image.open(out)


@pytest.mark.parametrize("damaged", [b"", b"no profile", profile()[:200], profile()[:-4]])
def test_a_profile_that_cant_be_read_is_left_out(damaged):
    found = opened(Image.new("RGB", (8, 8), (200, 80, 50)), "JPEG", icc_profile=damaged, quality=95)
    assert np.abs(np.asarray(as_rgb(found))[4, 4].astype(int) - (200, 80, 50)).max() < 12


def test_grey_in_16_bits_is_grey_in_8(tmp_path):
    grey = np.linspace(0, 65535, 400).astype(np.uint16)[None].repeat(400, 0)
    Image.fromarray(grey).save(tmp_path / "g.png")
    codes = read_photo(tmp_path / "g.png").codes
    assert np.abs(codes[0, :, 1] - grey[0] / 257).max() <= 1


@pytest.mark.parametrize("mode", ["L", "P", "RGBA", "CMYK", "1"])
def test_every_other_kind_is_as_the_library_has_it(mode):
    image = Image.fromarray(
        np.arange(64 * 64 * 3, dtype=np.uint32).astype(np.uint8).reshape(64, 64, 3)
    )
    other = image.convert(mode)
    assert np.array_equal(np.asarray(as_rgb(other)), np.asarray(other.convert("RGB")))
