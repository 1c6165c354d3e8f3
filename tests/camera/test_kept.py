"""A kept stage whose bytes or arrays were changed is read or refused, and nothing else happens."""

import io
import random

import numpy as np
import pytest

from lumenmap.camera.stage.kept import VERSION, read_measured
from lumenmap.core.errors import InputError

RNG = np.random.default_rng(1)
#: Arrays of an invented house of ten pixels in two groups.
ARRAYS = {
    "version": np.array(VERSION),
    "position": np.zeros(3),
    "turn": np.eye(3),
    "lens": np.array([40.0, 16, 16, 0, 0]),
    "dark": np.zeros((32, 32, 3), np.uint8),
    "colours": RNG.random((3, 32, 32, 3)).astype(np.float16),
    "share": RNG.random((2, 16, 16)).astype(np.float16),
    "starts": np.array([0, 5]),
    "lamps": RNG.random((10, 2)) * 30,
    "house": np.frombuffer(b"a" * 64, np.uint8),
}
STRANGE = (
    *(np.zeros(0), np.array("x"), np.array(1j), np.array(True), np.array(b"\xff" * 4)),
    *(np.zeros((2, 2, 2, 2)), np.zeros((1, 1, 3)), np.array(float("nan"))),
)


def kept(arrays):
    out = io.BytesIO()
    np.savez_compressed(out, **arrays)
    return out.getvalue()


def read(path, data):
    """Read it; a refusal is as good."""
    path.write_bytes(data)
    try:
        return read_measured(path)
    except InputError as refused:
        assert "isn't what a survey keeps" in str(refused) or "has version" in str(refused)
        return None


def test_it_is_read(tmp_path):
    assert read(tmp_path / "night.npz", kept(ARRAYS)).house == "a" * 64


def test_changed_bytes(tmp_path):
    """Zip, zlib and numpy's headers each have faults of their own kind to raise: nine in these."""
    good, rng = kept(ARRAYS), random.Random(4)
    for _ in range(400):
        data = bytearray(good)
        for _ in range(rng.choice((1, 1, 2, 5))):
            # The directory at the end, as often as all the rest.
            at = rng.randrange(len(data)) if rng.random() < 0.5 else -rng.randrange(1, 1000)
            data[at] = rng.randrange(256)
        read(tmp_path / "night.npz", bytes(data))


@pytest.mark.parametrize("name", sorted(ARRAYS))
def test_changed_arrays(tmp_path, name):
    for strange in (*STRANGE, np.full(ARRAYS[name].shape, np.nan), np.full(ARRAYS[name].shape, -1)):
        read(tmp_path / "night.npz", kept(ARRAYS | {name: strange}))
    without = {key: value for key, value in ARRAYS.items() if key != name}
    assert read(tmp_path / "night.npz", kept(without)) is None
