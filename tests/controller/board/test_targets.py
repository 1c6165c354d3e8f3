"""Other processors: compiled by Debian's cross compilers, and run on emulated machines."""

from dataclasses import replace

import numpy as np
import pytest

from lumenmap.controller.flash.image import flash_image
from tests.bench_flash import shows
from tests.controller.board.targets import MACHINES, TARGETS, measure


@pytest.mark.parametrize("target", TARGETS, ids=lambda t: t.name)
def test_compiles_without_a_warning_and_is_as_small_as_said(target, tmp_path):
    """BOARD.md promises these; AVR's registers are 8 bits wide, so its code is longer."""
    if not target.there:
        pytest.skip(f"{target.prefix}gcc is not installed")
    got = measure(target, tmp_path)
    narrow = target.name == "AVR"
    assert sum(got.code.values()) <= (28_000 if narrow else 14_000), got.code
    assert got.data == 0, "nothing static: all state is in your lmp, lml and memory"
    assert got.stack["lmp_step"] <= 640, got.stack
    assert max(got.stack.values()) <= 640, got.stack
    assert got.stack["lmfi_next"] > 100, "the chain of calls was followed"


@pytest.fixture(scope="module", params=MACHINES, ids=lambda m: m.target.name)
def machine(request, tmp_path_factory):
    own = request.param
    if not own.there:
        pytest.skip(f"{own.target.prefix}gcc or {own.command[0]} is not installed")
    folder = tmp_path_factory.mktemp("machine")
    program = own.build(folder / "program")
    return lambda image: own.play(program, image, folder)


@pytest.fixture(scope="session")
def images(examples, exported):
    """The first 120 frames of a show of each example house, and their images."""
    found = [p for p in sorted(examples.glob("*/*.toml")) if "[[cue]]" in p.read_text()]
    shows = {path.stem: exported(path) for path in {p.parent: p for p in found}.values()}
    assert len(shows) >= 6
    first = {name: replace(whole, codes=whole.codes[:120]) for name, whole in shows.items()}
    return {name: (frames, flash_image(frames)) for name, frames in first.items()}


def test_example_shows_play_byte_for_byte(machine, images):
    for name, (frames, image) in images.items():
        out, counts = machine(image)
        assert out == frames.codes.tobytes(), name
        assert len(counts) == len(frames.codes)
        print(f"{name}: {counts[1:].max():,} instructions at the worst frame")


@pytest.fixture(scope="session")
def hard():
    """Six shows of very different kinds, and noise, which nothing packs; and their images."""
    made = shows(500, 40.0, 2)
    noise = np.random.default_rng(0).integers(0, 256, (80, 500, 3), dtype=np.uint8)
    made["noise"] = replace(made["wave"], codes=noise)
    return {name: (frames, flash_image(frames)) for name, frames in made.items()}


def test_worst_frame_of_500_pixels_takes_at_most_half_a_core(machine, hard):
    """80 MHz / 40 frames/s / 2 is 1,000,000 instructions a frame, if each takes one cycle."""
    for name, (frames, image) in hard.items():
        out, counts = machine(image)
        assert out == frames.codes.tobytes(), name
        print(f"{name}: worst {counts[1:].max():,}, mean {counts[1:].mean():,.0f} instructions")
        assert 10_000 < counts[1:].max() <= 1_000_000, name
