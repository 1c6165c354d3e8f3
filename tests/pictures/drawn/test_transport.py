"""What is kept in the user's cache: it is used, and never when it is stale or broken."""

import hashlib
import os
from dataclasses import replace

import numpy as np
import pytest

from lumenmap.core import notices
from lumenmap.core.folders.cache import Cache
from lumenmap.pictures.drawn import transport
from lumenmap.pictures.drawn.preview import Preview
from lumenmap.pictures.scene.look import Look
from lumenmap.site import Site


@pytest.fixture(autouse=True)
def _cache(tmp_path, monkeypatch):
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "cache"))


#: Whole by its checksum, but nothing that this version could read.
WHOLE_JUNK = hashlib.sha256(b"junk").digest() + b"junk"


def kept(folder):
    return sorted((folder / "cache" / "lumenmap" / "pictures").glob("*"))


def test_the_second_run_reads_what_the_first_kept(house, pixelmap, tmp_path):
    home = replace(house, file=tmp_path / "house.toml")
    light = np.random.default_rng(1).random((len(pixelmap), 3)).astype(np.float32)
    first = Preview(Site(home, pixelmap), width=160, height=90, cache=True).still(light)
    (file,) = kept(tmp_path)
    before = file.stat().st_ino
    second = Preview(Site(home, pixelmap), width=160, height=90, cache=True).still(light)
    assert kept(tmp_path)[0].stat().st_ino == before
    uncached = Preview(Site(home, pixelmap), width=160, height=90).still(light)
    assert (first == second).all() and (first == uncached).all(), "byte for byte"
    assert not (tmp_path / "house.toml").exists() and len(list(tmp_path.iterdir())) == 1


def test_another_look_view_or_house_gets_its_own(house, pixelmap, tmp_path):
    home = replace(house, file=tmp_path / "house.toml")
    Preview(Site(home, pixelmap), width=160, height=90, cache=True)
    Preview(Site(home, pixelmap), width=160, height=90, cache=True, look=Look("night"))
    Preview(Site(home, pixelmap), width=160, height=90, cache=True, view="front")
    painted = tuple(replace(f, colour=(0.1, 0.1, 0.1)) for f in house.faces)
    Preview(Site(replace(home, faces=painted), pixelmap), width=160, height=90, cache=True)
    assert len(kept(tmp_path)) == 4


def test_a_broken_file_is_made_again(house, pixelmap, tmp_path):
    home = replace(house, file=tmp_path / "house.toml")
    light = np.ones((len(pixelmap), 3), np.float32)
    good = Preview(Site(home, pixelmap), width=160, height=90, cache=True).still(light)
    for junk in (b"", b"PK\x03\x04 not a zip", kept(tmp_path)[0].read_bytes()[:5000], WHOLE_JUNK):
        kept(tmp_path)[0].write_bytes(junk)
        again = Preview(Site(home, pixelmap), width=160, height=90, cache=True).still(light)
        assert (good == again).all()


def test_only_the_newest_are_kept(house, pixelmap, tmp_path, monkeypatch):
    monkeypatch.setattr(transport, "CACHE", Cache("pictures", 3, 10**9))
    home = replace(house, file=tmp_path / "house.toml")
    for width in range(100, 150, 10):
        Preview(Site(home, pixelmap), width=width, height=60, cache=True)
    assert len(kept(tmp_path)) == 3


def test_no_more_than_so_many_bytes_are_kept(house, pixelmap, tmp_path, monkeypatch):
    """The longest unused go first; a file too large by itself is not kept at all."""
    home = replace(house, file=tmp_path / "house.toml")
    for width in (100, 110, 120):
        Preview(Site(home, pixelmap), width=width, height=60, cache=True)
    left = kept(tmp_path)[0].with_name(f".{'0' * 24}-{'0' * 16}")
    left.write_bytes(b"half")
    mine = left.with_name("my-picture-1.npz")
    mine.write_bytes(b"mine")
    os.utime(left, (0, 0))
    sizes = {f: f.stat().st_size for f in kept(tmp_path) if len(f.name) == 24}
    for age, file in enumerate(sizes):
        os.utime(file, (age + 1, age + 1))
    oldest = next(iter(sizes))
    monkeypatch.setattr(transport, "CACHE", Cache("pictures", 9, int(3.6 * max(sizes.values()))))
    Preview(Site(home, pixelmap), width=130, height=60, cache=True)
    assert len(kept(tmp_path)) == 3 + 1
    assert mine.exists()
    assert not oldest.exists()
    assert not left.exists()
    monkeypatch.setattr(transport, "CACHE", Cache("pictures", 9, 1))
    Preview(Site(home, pixelmap), width=140, height=60, cache=True)
    assert kept(tmp_path) == [mine]


def test_a_folder_that_cannot_be_used_is_told_once(house, pixelmap, tmp_path, caplog, monkeypatch):
    monkeypatch.setattr(notices, "_told", set())
    (tmp_path / "cache").write_text("a file")
    for _ in range(2):
        Preview(Site(house, pixelmap), width=100, height=60, cache=True)
    (told,) = [r.getMessage() for r in caplog.records]
    assert "can't be used as a cache: Not a directory; the work goes on without it" in told


def test_any_flipped_byte_is_found(house, pixelmap, tmp_path):
    """600 flips in the header and the directory, where an archive's reader fails in many ways."""
    light = np.ones((len(pixelmap), 3), np.float32)
    good = Preview(Site(house, pixelmap), width=100, height=60, cache=True).still(light)
    (file,) = kept(tmp_path)
    whole = file.read_bytes()
    chance = np.random.default_rng(2)
    for _ in range(600):
        at = int(chance.integers(0, 600)) * (1 if chance.random() < 0.5 else -1)
        broken = bytearray(whole)
        broken[at] ^= 1 << int(chance.integers(8))
        file.write_bytes(broken)
        assert transport.CACHE.get(file.name) is None
    again = Preview(Site(house, pixelmap), width=100, height=60, cache=True).still(light)
    assert (good == again).all()
