"""Between two packets: what a supply draws is bounded by the figures stated.

The reference counts mixtures of frames by hand: every universe shows one frame or another, and the
current is that of the codes put together so. Universes of 170 RGB pixels: ANSI E1.31, 512 slots.
"""

import itertools
from uuid import UUID

import numpy as np
import pytest

from lumenmap.controller.e131.blocks import PacketBlocks
from lumenmap.controller.e131.options import StreamOptions
from lumenmap.controller.e131.packets import Source
from lumenmap.controller.e131.routes import Routes
from lumenmap.jobs.export import check, export
from lumenmap.jobs.limited import limited
from lumenmap.jobs.project import load
from lumenmap.pixels.universes import plan_universes
from lumenmap.power.limits.budgets import budgets
from lumenmap.power.limits.limit import FULL
from lumenmap.power.limits.limiter import Limiter
from lumenmap.power.limits.options import LimitOptions
from lumenmap.power.limits.torn import TornCounter, packets_of, room_for, tightened
from tests.small_house import WALL

TWO = [(f"f{i}", "s", f"line-{i}", "start", "14 AWG", 1.0, 2.0) for i in range(2)]


@pytest.fixture
def pair(small_map, small_house):
    """Two lines on one supply of 1 A, a third of what they want at full white."""
    pixelmap = small_map((30, 24))
    house = small_house(pixelmap, [("s", 12.0, 1.0)], TWO)
    return pixelmap, budgets(house, pixelmap)


def counted(held, packets, codes, block=1000):
    watch = TornCounter(held, packets)
    for i in range(0, len(codes), block):
        watch.add(codes[i : i + block])
    return watch.figures()


def mixtures(codes, packets):
    """Every frame with some universes as in the frame before it, the first after the last."""
    for old, new in zip(np.roll(codes, 1, axis=0), codes, strict=True):
        for which in itertools.product([False, True], repeat=len(packets)):
            mixed = old.copy()
            for packet, take in zip(packets, which, strict=True):
                if take:
                    mixed[packet] = new[packet]
            yield mixed


def sent_in_order(codes, packets):
    """What is shown after each packet, those of falling light first."""
    for old, new in zip(np.roll(codes, 1, axis=0), codes, strict=True):
        shown = old.copy()
        change = [int(new[p].sum()) - int(old[p].sum()) for p in packets]
        for k in np.argsort(change, kind="stable"):
            shown[packets[k]] = new[packets[k]]
            yield shown.copy()


def adversarial(rng, held, pixels):
    """A show that does its worst: lines in turn, spikes, white, darkness, chance."""
    frames = int(rng.integers(2, 9))
    light = rng.random((frames, pixels, 3)).astype(np.float32)
    way = rng.integers(0, 4)
    half = np.arange(pixels) < 30
    if way == 0:  # one line, then the other
        light = np.where((np.arange(frames)[:, None] % 2 == 0) == half, 1, 0)[..., None]
        light = np.repeat(light, 3, axis=2).astype(np.float32)
    elif way == 1:
        light[:] = rng.integers(0, 2, (frames, 1, 1))
    elif way == 2:
        light[rng.integers(0, frames)] = 1
    return Limiter(held, LimitOptions(), 20.0).limit(light).codes


def test_300_adversarial_shows_are_bounded_by_the_figures(pair):
    pixelmap, held = pair
    packets, rng, over = packets_of(pixelmap), np.random.default_rng(13), 0
    assert packets == [slice(0, 30), slice(30, 54)]
    for _ in range(300):
        codes = adversarial(rng, held, 54)
        assert (held.utilisation(held.amps_of(codes)) <= FULL).all()
        figures = counted(held, packets, codes, block=int(rng.integers(1, 9)))
        torn = held.amps_of(np.stack(list(mixtures(codes, packets)))).max(axis=0)
        sent = held.amps_of(np.stack(list(sent_in_order(codes, packets)))).max(axis=0)
        every = [held.amps_of(_alone(codes, p)).max(axis=0) for p in packets]
        for k, f in figures.items():
            assert f.any_order == pytest.approx(torn[k], abs=1e-9)
            peak = held.amps_of(codes)[:, k].max()
            assert f.in_order == pytest.approx(max(sent[k], peak), abs=1e-9)
            lost = sum(e[k] - held.idle[k] for e in every) + held.idle[k]
            assert f.lost == pytest.approx(lost, abs=1e-9)
            assert f.in_order <= f.any_order + 1e-12 <= f.lost + 2e-12
            over += f.any_order > held.amps[k] * 1.0001
    assert over > 60  # the bound is needed


def test_each_packet_counts_for_the_budgets_that_it_draws_from_and_for_no_other(
    small_map, small_house
):
    """Three lines on two supplies: mixtures counted by hand, budget by budget."""
    pixelmap = small_map((12, 9, 7))
    feeds = [(f"f{i}", "st"[i // 2], f"line-{i}", "start", "14 AWG", 1.0, 2.0) for i in range(3)]
    house = small_house(pixelmap, [("s", 12.0, 1.0), ("t", 12.0, 1.0)], feeds)
    held, packets = budgets(house, pixelmap), packets_of(pixelmap)
    rng = np.random.default_rng(3)
    for _ in range(40):
        codes = rng.integers(0, 256, (int(rng.integers(2, 7)), 28, 3), dtype=np.uint8)
        codes[rng.integers(0, len(codes))] = 0
        figures = counted(held, packets, codes, block=int(rng.integers(1, 9)))
        assert {held.kinds[k] for k in figures} == {"supply", "branch"} and len(figures) == 5
        torn = held.amps_of(np.stack(list(mixtures(codes, packets)))).max(axis=0)
        sent = held.amps_of(np.stack(list(sent_in_order(codes, packets)))).max(axis=0)
        for k, f in figures.items():
            assert f.any_order == pytest.approx(torn[k], abs=1e-9)
            peak = held.amps_of(codes)[:, k].max()
            assert f.in_order == pytest.approx(max(sent[k], peak), abs=1e-9)
    pairs = len(TornCounter(held, packets)._by_pair)
    assert pairs == 6  # each packet's supply and branch; all with all would be 15


def _alone(codes, packet):
    alone = np.zeros_like(codes)
    alone[:, packet] = codes[:, packet]
    return alone


def test_300_adversarial_shows_stay_inside_once_room_is_left(pair):
    """Half the room above idle is enough for any two frames together."""
    pixelmap, held = pair
    packets, rng = packets_of(pixelmap), np.random.default_rng(5)
    half = tightened(held, np.full(len(held), 0.5))
    for _ in range(300):
        codes = adversarial(rng, half, 54)
        assert (half.utilisation(half.amps_of(codes)) <= FULL).all()
        torn = held.amps_of(np.stack(list(mixtures(codes, packets))))
        assert (torn[:, :1] <= held.amps[:1] + 1e-9).all()
        figures = counted(held, packets, codes)
        assert all(f.any_order <= held.amps[k] + 1e-9 for k, f in figures.items())
        assert (room_for(held, np.ones(len(held)), figures) == 1).all()


def test_what_is_worked_by_hand(pair):
    """One line at 40, then the other: 30 and 24 pixels of 3 x 18.5 mA, and 54 x 0.7 mA idle."""
    pixelmap, held = pair
    codes = np.zeros((2, 54, 3), np.uint8)
    codes[0, :30], codes[1, 30:] = 40, 40
    figures = counted(held, packets_of(pixelmap), codes)[0]
    each, idle = 3 * 0.0185 * 40 / 255, 54 * 0.0007
    assert figures.any_order == figures.lost == pytest.approx(54 * each + idle)
    # The line that goes dark is sent first, so both are never lit.
    assert figures.in_order == pytest.approx(30 * each + idle)


SHOW = """
[show]
house = "house.toml"
fps = 10
length = 0.4
[limit]
mode = "frame"
between_packets = {0}
[palette.ink]
stops = ["white"]
"""
CUE = """
[[cue]]
start = {0}
length = 0.1
[[cue.layer]]
effect = "still"
palette = "ink"
within = {{ across = [{1}, {2}] }}
"""


@pytest.fixture
def turns(tmp_path):
    """The two halves of a wall of 500 pixels, which are three universes, white in turn."""
    (tmp_path / "house.toml").write_text(WALL)
    cues = [CUE.format(i / 10, *((0, 5) if i % 2 else (5, 10))) for i in range(4)]

    def write(room):
        (tmp_path / "show.toml").write_text(SHOW.format(str(room).lower()) + "".join(cues))
        return tmp_path / "show.toml"

    return write


def test_check_says_what_is_guaranteed_and_the_key_leaves_room(turns, lumenmap):
    plain = check(load(turns(False)))["budgets"][0]
    assert plain["between"]["any_order"] > 1.4 * plain["amps"]
    out = lumenmap("check", turns(False)).out
    assert "between packets: one at most" in out and "between_packets = true" in out
    work = load(turns(True))
    room = check(work)["budgets"][0]
    assert room["between"]["any_order"] <= room["amps"] < plain["between"]["any_order"]
    assert room["peak"] > 0.5 * room["amps"]  # no more was taken away than is needed
    assert "Within every limit between packets" in lumenmap("check", turns(True)).out
    codes = np.concatenate([got.codes for got in limited(work)])
    mixed = np.stack(list(mixtures(codes, packets_of(work.site.pixels))))
    assert (work.site.budgets.amps_of(mixed)[:, 0] <= room["amps"] + 1e-9).all()


def test_the_account_and_its_recount_say_it(turns, lumenmap, tmp_path):
    export(load(turns(False)), tmp_path / "out")
    text = (tmp_path / "out" / "account.txt").read_text()
    assert "Between packets: every universe is a packet" in text
    assert "Over the limit for a moment" in text
    got = lumenmap("check", tmp_path / "out" / "frames.json")
    assert got.code == 0, got
    assert "every figure in frames.json is the same" in got.out


def test_falling_light_is_sent_first(pair):
    pixelmap, _ = pair
    units = plan_universes(pixelmap.lines, 3)
    blocks = PacketBlocks(
        Source(UUID(int=1), "test", 100),
        Routes(units, ()),
        20.0,
        StreamOptions(steady=True),
        length=4,
    )
    frames = np.zeros((5, 54, 3), np.uint8)
    frames[0, :30] = frames[1, 30:] = frames[2, :30] = frames[3, 30:] = 200
    flat = frames.reshape(5, -1)
    sent = [[k for k, _ in row] for part in (flat[:3], flat[3:]) for row in blocks.build(part)]
    assert sent == [[0, 1], [0, 1], [1, 0], [0, 1], [1, 0]]
