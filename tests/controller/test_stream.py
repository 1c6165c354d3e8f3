import gc

import numpy as np
import pytest

from lumenmap.controller.e131.blocks import PacketBlocks
from lumenmap.controller.e131.options import StreamOptions
from lumenmap.controller.e131.pace import pace
from lumenmap.controller.e131.packets import TERMINATED
from lumenmap.controller.e131.routes import Destination, Routes
from lumenmap.controller.e131.stream import Stream
from lumenmap.core.errors import InputError
from lumenmap.pixels.universes import plan_universes

HOME = ("127.0.0.1", 5568)


def stream(frames, source, sender, clock, where=None, notify=lambda _: None, **options):
    universes = plan_universes(frames.lines, frames.channels)
    where = where or Routes(universes, tuple((HOME,) for _ in universes))
    return Stream(source, where, sender, StreamOptions(**options), clock=clock, notify=notify)


def data(sender, universe=None):
    """(time, sequence, options, slots) of the data packets sent."""
    return [
        (t, p[111], p[112], p[126:])
        for t, _, p in sender.sent
        if p[18:22] == b"\0\0\0\4"
        and (universe is None or int.from_bytes(p[113:115], "big") == universe)
    ]


def test_every_frame_arrives_at_its_time(source, sender, clock, make_frames):
    frames = make_frames(100, (400, 30))
    report = stream(frames, source, sender, clock).play(frames, close=False)
    flat = frames.flat()
    for universe, span in ((1, slice(0, 510)), (3, slice(1020, 1200)), (4, slice(1200, 1290))):
        got = data(sender, universe)
        assert [slots for *_, slots in got] == [f[span].tobytes() for f in flat]
        due = 1000 + np.arange(100) / 40
        assert np.abs(np.array([t for t, *_ in got]) - due).max() < 1e-6
    assert report.frames == 100 and report.packets == 400 and not report.lost
    assert report.seconds == pytest.approx(2.5)


def test_sequence_wraps_and_never_skips(source, sender, clock, make_frames):
    frames = make_frames(70)
    seen = []
    stream(frames, source, sender, clock).play(
        frames, loop=True, stop=lambda: seen.append(0) or len(seen) > 700
    )
    numbers = [s for _, s, *_ in data(sender)]
    assert len(numbers) > 512
    assert numbers == [i % 256 for i in range(len(numbers))]


def test_still_scene_is_kept_alive(source, sender, clock, make_frames):
    """6.6.2: three packets, then one every 800 to 1000 ms with the next sequence number."""
    frames = make_frames(400)
    frames.codes[:] = frames.codes[0]
    stream(frames, source, sender, clock).play(frames, close=False)
    got = data(sender)
    times = np.array([t for t, *_ in got]) - 1000
    assert times[:3] == pytest.approx([0, 0.025, 0.05])
    gaps = np.diff(times[2:])
    assert len(gaps) >= 9 and (gaps >= 0.8).all() and (gaps <= 1.0).all()
    assert [s for _, s, *_ in got] == list(range(len(got)))


def test_a_change_ends_the_stillness_of_its_universe_only(source, sender, clock, make_frames):
    frames = make_frames(60, (170, 170))
    frames.codes[:] = 5
    frames.codes[30:, 200] = 9
    stream(frames, source, sender, clock).play(frames, close=False)
    times = [round((t - 1000) * 40) for t, *_ in data(sender, 2)]
    assert times[3:6] == [30, 31, 32]
    assert [round((t - 1000) * 40) for t, *_ in data(sender, 1)] == [0, 1, 2, 38]


def test_steady_sends_every_frame(source, sender, clock, make_frames):
    frames = make_frames(50)
    frames.codes[:] = 1
    stream(frames, source, sender, clock, steady=True).play(frames, close=False)
    assert len(data(sender)) == 50


@pytest.mark.parametrize("fps", [0.2, 1, 3, 5.1, 7, 24, 44])
def test_keep_alive_is_in_time_at_any_rate(source, sender, clock, make_frames, fps):
    frames = make_frames(max(2, int(6 * fps)), fps=fps)
    frames.codes[:] = 3
    stream(frames, source, sender, clock).play(frames, close=False)
    gaps = np.diff([t for t, *_ in data(sender)])[2:]
    assert (gaps > 0.8 - 1e-9).all() and (gaps < 1 + 1e-9).all()


def test_end_is_black_then_three_terminated_packets(source, sender, clock, make_frames):
    """6.2.6: three packets with the terminated bit; black goes before, for they are not shown."""
    frames = make_frames(10, (170, 20))
    stream(frames, source, sender, clock).play(frames)
    for universe in (1, 2):
        got = data(sender, universe)
        assert [o for *_, o, _ in got] == [0] * 13 + [TERMINATED] * 3
        assert all(set(slots) == {0} for *_, slots in got[-6:])
        assert [s for _, s, *_ in got] == list(range(16))


def test_stopping_half_way_also_terminates(source, sender, clock, make_frames):
    frames = make_frames(1000)
    stream(frames, source, sender, clock).play(
        frames, loop=True, stop=lambda: clock.now() >= 1000.7
    )
    got = data(sender)
    assert [o for *_, o, _ in got][-3:] == [TERMINATED] * 3
    assert [s for _, s, *_ in got] == list(range(len(got)))
    assert got[-1][0] < 1001


def test_suspended_laptop_goes_on_in_time(source, sender, clock, make_frames):
    frames = make_frames(400)
    clock.hiccups = [(1002.0, 3600.0)]
    said = []
    report = stream(frames, source, sender, clock, notify=said.append).play(
        frames, loop=True, stop=lambda: clock.now() >= 4610
    )
    flat = frames.flat()
    for t, _, options, slots in data(sender):
        if not options and any(slots):
            due = round((t - 1000) * 40) % 400
            assert slots == flat[due, :510].tobytes()
    numbers = [s for _, s, *_ in data(sender)]
    assert numbers == [i % 256 for i in range(len(numbers))], "what was not sent took no number"
    assert report.dropped == pytest.approx(3600 * 40, abs=1)
    assert len(said) == 1 and said[0].startswith("woke 3600.00 s late: 144000 frames dropped")


@pytest.mark.parametrize(("cost", "least"), [(0.004, 0.8), (0.06, 0.15)])
def test_a_machine_that_builds_slowly_still_sends(
    source, sender, clock, make_frames, monkeypatch, cost, least
):
    """Building 20 frames at 4 ms each makes the next ones late; at 60 ms every one is."""
    build = PacketBlocks.build

    def slow(self, frames):
        clock.time += cost * len(frames)
        return build(self, frames)

    monkeypatch.setattr(PacketBlocks, "build", slow)
    frames = make_frames(400)
    report = stream(frames, source, sender, clock).play(frames, close=False)
    assert report.frames >= least * 400
    assert report.frames + report.dropped == 400 and report.seconds < 11.5
    flat = frames.flat()
    shown = {slots for *_, slots in data(sender)}
    assert shown <= {f.tobytes() for f in flat}
    numbers = [s for _, s, *_ in data(sender)]
    assert numbers == [i % 256 for i in range(len(numbers))]


def test_change_in_dropped_frames_is_shown_after_them(source, sender, clock, make_frames):
    frames = make_frames(200)
    frames.codes[:] = 5
    frames.codes[41:] = 9
    clock.hiccups = [(1001.0, 0.3)]
    stream(frames, source, sender, clock).play(frames, close=False)
    after = [(t, slots[0]) for t, *_, slots in data(sender) if t > 1001]
    assert after[0][0] < 1001.36 and after[0][1] == 9


def test_cable_pulled_and_put_back(source, sender, clock, make_frames):
    frames = make_frames(400)
    sender.down = lambda now: 1002 <= now < 1005
    said = []
    report = stream(frames, source, sender, clock, notify=said.append).play(frames, close=False)
    assert report.frames == 400 and report.dropped == 0
    assert report.lost == {"network unreachable": 120}
    last = data(sender)[-1]
    assert last[0] == pytest.approx(1000 + 399 / 40) and last[3] == frames.flat()[-1].tobytes()
    assert said[0] == "packets are being lost: network unreachable (1); continuing"
    assert said[1] == "the network is back: 120 packets lost in 3.0 s" and len(said) == 2


def test_network_that_never_comes_is_told_at_the_end(source, sender, clock, make_frames):
    frames = make_frames(40)
    sender.down = lambda _: True
    said = []
    stream(frames, source, sender, clock, notify=said.append).play(frames)
    assert said[-1].startswith("stopped while packets were being lost: 46 packets lost in 1.1")


def test_brightness_turns_codes_down_and_never_up(source, sender, clock, make_frames):
    frames = make_frames(3)
    stream(frames, source, sender, clock, brightness=0.5).play(frames, close=False)
    got = np.frombuffer(data(sender)[1][3], np.uint8)
    before = frames.flat()[1]
    assert (np.abs(got - before / 2) < 1).all() and (got <= before).all()
    assert (got[before >= 128] == np.floor(before[before >= 128] / 2 + 0.5)).all()
    for bad in (0, -1, 1.01, float("nan")):
        with pytest.raises(InputError, match="brightness: is .*; expected more than 0, at most 1"):
            stream(frames, source, sender, clock, brightness=bad)


def test_more_than_44_frames_a_second_only_when_asked():
    """6.6.1."""
    assert pace(44).rate == 44 and pace(40).step == 1
    assert pace(60).rate == 30 and pace(60).step == 2
    assert pace(120).rate == 40
    assert pace(60, fast=True).rate == 60


def test_thinned_show_keeps_its_time(source, sender, clock, make_frames):
    frames = make_frames(120, fps=60)
    report = stream(frames, source, sender, clock).play(frames, close=False)
    assert report.seconds == pytest.approx(2.0)
    assert [s for *_, s in data(sender)] == [f.tobytes() for f in frames.flat()[::2]]


def test_sync_follows_each_frame_and_discovery_comes_every_ten_seconds(
    source, sender, clock, make_frames
):
    frames = make_frames(40 * 21, (170, 170))
    universes = plan_universes(frames.lines, 3)
    where = Destination(multicast=True, sync=99).routes(universes)
    stream(frames, source, sender, clock, where, sync=99).play(frames, close=False)
    syncs = [p for _, a, p in sender.sent if a == ("239.255.0.99", 5568)]
    assert [p[44] for p in syncs] == [i % 256 for i in range(840)]
    kinds = [p[18:22] + p[40:44] for _, _, p in sender.sent[:5]]
    assert kinds[0] == kinds[1] == bytes.fromhex("0000000400000002")
    assert kinds[2] == bytes.fromhex("0000000800000001")
    assert all(p[109:111] == b"\0\x63" for _, _, p in sender.sent if p[18:22] == b"\0\0\0\4")
    found = [(t, p[120:]) for t, a, p in sender.sent if a == ("239.255.250.214", 5568)]
    assert [t - 1000 for t, _ in found] == pytest.approx([0, 10, 20])
    assert found[0][1] == bytes.fromhex("00010002")


def test_joining_a_show_that_began_earlier(source, sender, clock, make_frames):
    frames = make_frames(400)
    report = stream(frames, source, sender, clock).play(
        frames, loop=True, begun=clock.now() - 1234.5, stop=lambda: clock.now() > 1001, close=False
    )
    t, *_, slots = data(sender)[0]
    assert t <= 1000.025
    assert slots == frames.flat()[round((t + 234.5) * 40) % 400].tobytes()
    assert not report.dropped, "what was before isn't missing"


def test_sequence_goes_on_from_one_show_to_the_next(source, sender, clock, make_frames):
    frames = make_frames(30)
    playing = stream(frames, source, sender, clock)
    playing.play(frames, close=False)
    playing.play(frames, close=False)
    assert [s for _, s, *_ in data(sender)] == list(range(60))


def test_garbage_collection_rests_while_a_show_plays_and_only_then(
    source, sender, clock, make_frames
):
    frames = make_frames(400, (170, 170))
    playing = stream(frames, source, sender, clock)
    seen, frozen = [], gc.get_freeze_count()
    playing.play(frames, close=lambda: seen.append(gc.isenabled()) or True)
    assert seen == [False] and gc.isenabled() and gc.get_freeze_count() <= frozen
    gc.disable()
    try:
        playing.play(frames)
        assert not gc.isenabled(), "as it was found"
    finally:
        gc.enable()


def test_playing_makes_no_garbage_that_only_the_collector_could_free(
    source, sender, clock, make_frames
):
    """So that an evening with the collector off doesn't fill the memory."""
    frames = make_frames(200, (170, 170))
    playing = stream(frames, source, sender, clock)
    found = []
    for rounds in (2, 20):
        stop = clock.now() + 5 * rounds
        playing.play(
            frames,
            loop=True,
            stop=lambda stop=stop: clock.now() >= stop,
            close=lambda: found.append(gc.collect()) or False,
        )
        sender.sent.clear()
    assert found[1] <= found[0] + 5


def test_only_named_addresses_are_sent_to(source, sender, clock, make_frames):
    frames = make_frames(60, (170, 170))
    universes = plan_universes(frames.lines, 3)
    where = Destination(("line-0=127.0.0.1", "line-1=127.0.0.2", "line-1=[::1]")).routes(universes)
    stream(frames, source, sender, clock, where).play(frames)
    assert {a[0] for _, a, _ in sender.sent} == {"127.0.0.1", "127.0.0.2", "::1"}
