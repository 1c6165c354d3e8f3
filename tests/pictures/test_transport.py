"""What is kept beside the house file: it is used, and never when it is stale or broken."""

import os
from dataclasses import replace

import numpy as np

from lumenmap.pictures.light import transport
from lumenmap.pictures.light.preview import Preview
from lumenmap.pictures.scene.look import Look
from lumenmap.site import Site


def kept(folder):
    return sorted((folder / ".lumenmap").glob("picture-*.npz"))


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
    assert (tmp_path / ".lumenmap" / ".gitignore").read_text() == "*\n"


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
    for junk in (b"", b"PK\x03\x04 not a zip", kept(tmp_path)[0].read_bytes()[:5000]):
        kept(tmp_path)[0].write_bytes(junk)
        again = Preview(Site(home, pixelmap), width=160, height=90, cache=True).still(light)
        assert (good == again).all()


def test_only_the_newest_are_kept(house, pixelmap, tmp_path):
    home = replace(house, file=tmp_path / "house.toml")
    for width in range(100, 190, 10):
        Preview(Site(home, pixelmap), width=width, height=60, cache=True)
    assert len(kept(tmp_path)) == 6


def test_no_more_than_so_many_bytes_are_kept(house, pixelmap, tmp_path, monkeypatch):
    """The longest unused go first; a file too large by itself is not kept at all."""
    home = replace(house, file=tmp_path / "house.toml")
    for width in (100, 110, 120):
        Preview(Site(home, pixelmap), width=width, height=60, cache=True)
    left = tmp_path / ".lumenmap" / ".picture-1.npz-killed"
    left.write_bytes(b"half")
    os.utime(left, (0, 0))
    sizes = {f: f.stat().st_size for f in kept(tmp_path)}
    for age, file in enumerate(sizes):
        os.utime(file, (age + 1, age + 1))
    oldest = next(iter(sizes))
    monkeypatch.setattr(transport, "KEEP_BYTES", 3.6 * max(sizes.values()))
    Preview(Site(home, pixelmap), width=130, height=60, cache=True)
    assert len(kept(tmp_path)) == 3
    assert not oldest.exists()
    assert not left.exists()
    monkeypatch.setattr(transport, "KEEP_BYTES", 1)
    Preview(Site(home, pixelmap), width=140, height=60, cache=True)
    assert not kept(tmp_path)


def test_a_folder_that_cannot_be_written_is_no_error(house, pixelmap, tmp_path):
    home = replace(house, file=tmp_path / "gone" / "house.toml")
    Preview(Site(home, pixelmap), width=100, height=60, cache=True)
