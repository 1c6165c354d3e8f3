"""Ten thousand shows: no frame of any is over any budget, and the bytes of four hundred say so."""

import tempfile
from pathlib import Path

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from lumenmap.codes.white import split_white
from lumenmap.controller.files.frames import FrameWriter, sidecar
from lumenmap.house.reading.load import load_house
from lumenmap.power.account.account import account
from lumenmap.power.account.recheck import Checker, recheck
from lumenmap.power.limits.budgets import budgets
from lumenmap.power.limits.limiter import Limiter
from lumenmap.power.limits.options import MODES, SCOPES, LimitOptions
from lumenmap.power.limits.torn import packets_of
from lumenmap.power.report.tally import Tally
from lumenmap.site import Site

#: Four parts, which may run beside each other, of 50 draws of 50 shows each.
PARTS, DRAWS, SHOWS = 4, 50, 50
#: One in so many goes to the disk and is counted from there, which takes longer than all else.
WRITTEN = 25
#: Few, so that a second is few frames for the flash count: shows are short.
FPS = 12.0


class Homes(dict):
    """Short when it is printed: a failing example shows its arguments."""

    def __repr__(self):
        return "homes"


@pytest.fixture(scope="module")
def homes(tmp_path_factory, house_texts):
    folder = tmp_path_factory.mktemp("houses")
    made = Homes()
    for name, text in house_texts.items():
        (folder / name).mkdir()
        file = folder / name / "house.toml"
        file.write_text(text)
        site = Site(load_house(file))
        made[name] = (site, budgets(site.house, site.pixels), Checker(Site(site.house)))
    return made


@pytest.fixture(scope="module")
def quick():
    """A folder in memory where there is one: twelve hundred small files go through it."""
    memory = Path("/dev/shm")
    with tempfile.TemporaryDirectory(dir=memory if memory.is_dir() else None) as name:
        yield Path(name)


def compose(rng, frames, pixels):
    """A show of few frames: a palette, a gain, and often a spike, a flash, white, or darkness."""
    palette = rng.random((4, 3))
    light = palette[rng.integers(0, 4, (frames, pixels))] * rng.uniform(0, 1.3)
    light *= rng.random((frames, 1, 1)) ** rng.integers(0, 4)
    kind = rng.integers(0, 7)
    at = rng.integers(0, frames)
    if kind == 0:
        light[at] = 1  # a flash of one frame
    elif kind == 1:
        light[:, rng.integers(0, pixels)] = 3  # a pixel stuck too bright
    elif kind == 2:
        light[:] = 1
    elif kind == 3:
        light[at:] = 0
        light[rng.integers(0, frames)] = 1
    elif kind == 4:
        light[:] = rng.uniform(0, 0.1)  # all one dim colour
    elif kind == 5:
        light[:] = np.linspace(0, 1, frames)[:, None, None]
    return light.astype(np.float32)


def limited(light, limiter, channels, block):
    """The limiter as planned, and what it made of each block."""
    if channels == 4:
        light = split_white(light)
    cuts = range(0, len(light), block)
    if limiter.needs_plan:
        limiter = limiter.plan(np.concatenate([limiter.demand(light[i : i + block]) for i in cuts]))
    return limiter, [limiter.limit(light[i : i + block], i) for i in cuts]


@pytest.mark.parametrize("part", range(PARTS))
@settings(
    max_examples=DRAWS,
    database=None,
    derandomize=True,
    suppress_health_check=[HealthCheck.function_scoped_fixture],
)
@given(
    name=st.sampled_from(["branches", "four", "supplies", "trunk"]),
    mode=st.sampled_from(sorted(MODES)),
    per=st.sampled_from(sorted(SCOPES)),
    slew=st.sampled_from([0.1, 0.5, 4.0]),
    dither=st.booleans(),
    seed=st.integers(0, 2**32 - 1),
)
def test_no_frame_is_over_any_budget(homes, quick, part, name, mode, per, slew, dither, seed):
    site, held, checker = homes[name]
    house, pixelmap = site.house, site.pixels
    rng = np.random.default_rng([seed, part])
    limiter = Limiter(held, LimitOptions(mode, per, slew, dither), FPS)
    channels = pixelmap.kind.channels
    for k in range(SHOWS):
        light = compose(rng, int(rng.integers(1, 24)), len(pixelmap))
        plan, parts = limited(light, limiter, channels, int(rng.integers(1, 12)))
        codes = np.concatenate([p.codes for p in parts])
        amps = np.concatenate([p.amps for p in parts])
        gain = np.concatenate([p.gain for p in parts]).reshape(len(light), -1)
        # Counted again from the final codes: the very same amps, none over a budget.
        assert (held.amps_of(codes) == amps).all()
        assert (amps <= held.amps).all()
        assert ((gain > 0) & (gain <= 1)).all()
        if mode != "frame":
            planned(plan.gains, gain, slew if mode == "glide" else 0.0, amps, held)
        if k % WRITTEN:
            continue
        again = to_the_byte(quick, site, held, parts, checker)
        if k == 0:  # the whole way, with the house file read again
            assert recheck(quick / "frames.json", house.file) == again


def planned(plan, gain, slew, amps, held):
    """The plan changes no faster than asked, round the loop too, and is what is applied.

    Only a frame that rounding or dither would lift over a budget is brought down further, alone,
    and no further than to the brim.
    """
    stops = np.log2(plan)
    change = np.abs(stops - np.roll(stops, 1, axis=0)).max()
    assert change <= slew / FPS + 1e-9
    lower = (gain < plan * (1 - 1e-12)).any(axis=1)
    assert (gain <= plan).all()
    assert ((amps / held.amps).max(axis=1) > 0.95)[lower].all()


def to_the_byte(folder, site, held, parts, checker):
    """What is written, what the account says and what a check of the bytes says agree."""
    pixelmap = site.pixels
    tally = Tally(held, FPS, packets_of(pixelmap))
    writer = FrameWriter(folder / "frames.rgb", pixelmap)
    for part in parts:
        tally.add(part)
        writer.write(part.codes)
    writer.close()
    (folder / "frames.json").write_text(sidecar(writer, pixelmap, FPS, {"house": site.house.name}))
    proof = account(
        site,
        frames=tally.frames,
        fps=FPS,
        sha256=writer.sha256,
        rows=tally.figures(),
    )
    (folder / "account.txt").write_text(proof.text())
    again = checker.check(folder / "frames.json")
    assert again.problems == []
    assert again.account == proof  # and its text is what stands in account.txt, or a problem
    return again
