"""The receiver: vectors, the standard's rules, damage. Rules by ANSI E1.31-2018, clause beside."""

import subprocess
import uuid
from dataclasses import replace

import numpy as np
import pytest

from lumenmap.controller.e131.blocks import PacketBlocks
from lumenmap.controller.e131.options import StreamOptions
from lumenmap.controller.e131.packets import (
    TERMINATED,
    Source,
    data_packet,
    discovery_packets,
    multicast_v4,
    sync_packet,
)
from lumenmap.controller.e131.routes import Routes
from lumenmap.controller.flash.image import flash_image
from lumenmap.pixels.universes import plan_universes
from tests.controller.board.conftest import (
    DARK,
    LIVE,
    PLAYING,
    one_cap,
    show_of,
)

TAKEN, NOT_E131, NOT_OURS, NOT_LIGHT, LATE, LOWER, ENDED, NOBODY = range(8)
A = Source(uuid.UUID("6ba7b810-9dad-11d1-80b4-00c04fd430c8"), "Test source")
#: 6.2.6: preview, not for live output; and going on if the synchronisation packets stop.
PREVIEW, FREE_RUN = 0x80, 0x20
STEADY = StreamOptions(steady=True)
B = Source(uuid.UUID(int=2), "Another")
#: Own encoder's packets that tshark and the library sacn agree with (the sha256 of the first is
#: fae3320ae9f5489fbede8bb6f681a3904e49ca8669ff94b5f14bd9ab7a8dedde).
VECTOR_DATA = bytes.fromhex(
    "001000004153432d45312e3137000000707a000000046ba7b8109dad11d180b400c04fd430c8"
    "7064000000025465737420736f75726365" + "00" * 53 + "64000007000001"
    "701702a100000001000d00ff000000ff000000ff123456"
)
VECTOR_SYNC = bytes.fromhex(
    "001000004153432d45312e31370000007021000000086ba7b8109dad11d180b400c04fd430c8700b"
    "00000001701f1a0000"
)


@pytest.fixture
def porch(board):
    """A house of 200 and 20 pixels (universes 1, 2 and 3), its show playing."""
    b = board(memory=2000)
    b.file(0, flash_image(show_of(frames=40, counts=(200, 20))))
    b.play(0)
    b.run(200)
    b.shown()
    return b


def send(b, universe, slots, sequence=0, source=A, options=0, sync=0):
    packet = bytearray(data_packet(source, universe, bytes(slots), sequence=sequence, sync=sync))
    packet[112] = options
    return b.packet(packet)


def whole_frame(b, value, sequence, source=A, **options):
    for universe, n in ((1, 510), (2, 90), (3, 60)):
        assert send(b, universe, [value] * n, sequence, source, **options) == TAKEN


def test_vectors_are_taken(board):
    import hashlib

    assert hashlib.sha256(VECTOR_DATA).hexdigest().startswith("fae3320ae9f5489f")
    b = board()
    b.heed_sync()
    b.file(0, flash_image(show_of(counts=(4,))))
    b.play(0)
    b.run(100)
    assert b.packet(VECTOR_DATA) == TAKEN
    b.run(30)
    assert b.state() == LIVE
    assert b.wire(12) == bytes.fromhex("ff000000ff000000ff123456")
    assert b.packet(VECTOR_SYNC) == NOT_OURS, "no data of this source waits for universe 7962"
    assert b.packet(data_packet(A, 1, bytes([1] * 12), sequence=8, sync=7962)) == TAKEN
    assert b.packet(VECTOR_SYNC) == TAKEN


def test_packets_of_the_stream_are_the_frames_on_the_wire(board, make_frames):
    """Every frame that `PacketBlocks` packs arrives whole, on two lines and four universes."""
    frames = make_frames(60, (400, 30))
    b = board(memory=6000)
    dark = replace(frames, codes=np.zeros_like(frames.codes))
    b.file(0, flash_image(dark))
    b.play(0)
    b.run(100)
    b.shown()
    blocks = PacketBlocks(A, Routes(plan_universes(frames.lines, 3), ()), 40.0, STEADY, length=60)
    for packets in blocks.build(frames.flat()):
        for _, packet in packets:
            assert b.packet(bytes(packet)) == TAKEN
        b.run(25)
    assert [s.codes for s in b.shown() if s.state == LIVE] == [f.tobytes() for f in frames.flat()]


def test_takes_over_at_once_and_gives_back_after_two_and_a_half_seconds(porch):
    """6.7.1: E131_NETWORK_DATA_LOSS_TIMEOUT is 2.5 s."""
    whole_frame(porch, 7, 0)
    porch.run(2499)
    assert porch.state() == LIVE and porch.flashes() == 2
    assert [s.codes for s in porch.shown()] == [bytes([7] * 660)], "no gap of black before it"
    porch.run(100)
    assert porch.state() == PLAYING
    first = porch.run(100).shown()[0]
    assert any(first.codes) and first.state == PLAYING, "no gap of black after it"


@pytest.mark.parametrize("apart", [1, 6, 15])
def test_a_stream_whose_packets_came_apart_ends_whole(porch, apart):
    """No frame is half the stream's and half black while its universes run out one by one."""
    for universe, n in ((1, 510), (2, 90), (3, 60)):
        assert send(porch, universe, [7] * n) == TAKEN
        porch.run(apart)
    porch.run(2450)
    assert porch.state() == LIVE
    porch.shown()
    porch.run(150)
    assert porch.state() == PLAYING
    shown = porch.shown()
    assert shown and all(s.state == PLAYING for s in shown), [s.codes[::100] for s in shown]


def test_a_frame_that_never_comes_whole_is_shown_after_a_while(porch):
    send(porch, 1, [9] * 510)
    send(porch, 2, [9] * 90)
    porch.run(60)
    send(porch, 1, [8] * 510, 1)  # universe 2's packet is lost
    porch.run(15)
    assert porch.wire(1) == b"\x09"
    porch.run(10)
    assert porch.wire(660) == bytes([8] * 510 + [9] * 90 + [0] * 60)


def test_one_universe_lost_goes_black_and_the_others_stay(porch):
    whole_frame(porch, 5, 0)
    for i in range(30):
        porch.run(100)
        send(porch, 1, [5] * 510, i + 1)
        send(porch, 3, [5] * 60, i + 1)
    assert porch.run(50).wire(660) == bytes([5] * 510 + [0] * 90 + [5] * 60)
    assert porch.state() == LIVE


def test_terminated_stream_gives_back_at_once_and_its_slots_are_ignored(porch):
    """6.2.6, Stream_Terminated."""
    whole_frame(porch, 5, 0)
    porch.run(100).shown()
    for universe in (1, 2, 3):
        assert send(porch, universe, [255] * 10, 1, options=TERMINATED) == ENDED
    got = porch.run(200).shown()
    assert porch.state() == PLAYING and not any(s.codes[0] == 255 for s in got)


def test_a_source_that_waits_follows_one_that_ends_without_a_gap(porch):
    """Its next packet may be a second away: still scenes are only kept alive (6.6.2)."""
    louder = replace(B, priority=150)
    whole_frame(porch, 5, 0, louder)
    assert send(porch, 1, [6] * 510, 0) == LOWER
    porch.run(500)
    for universe in (1, 2, 3):
        assert send(porch, universe, [], 1, louder, options=TERMINATED) == ENDED
    porch.run(900)
    assert porch.state() == LIVE and porch.wire(510) == bytes([5] * 510)
    assert send(porch, 1, [6] * 510, 1) == TAKEN
    assert porch.run(40).wire(660) == bytes([6] * 510) + bytes(150)
    assert send(porch, 1, [], 2, options=TERMINATED) == ENDED
    assert porch.run(40).state() == PLAYING, "nobody else was heard"


def test_end_of_a_source_that_was_not_heard_is_nothing(porch):
    whole_frame(porch, 5, 0)
    assert send(porch, 1, [], 9, B, options=TERMINATED) == LOWER
    assert porch.state() == LIVE


def test_sequence_numbers(board):
    """6.7.2: a packet is discarded if its number less the last, as a signed octet, is -19 to 0."""
    image = flash_image(show_of(frames=8, counts=(3,)))
    for ahead in range(-128, 128):
        b = board(memory=60, log=0)
        b.file(0, image)
        b.play(0)
        b.run(30)
        send(b, 1, [1] * 9, 250)
        got = send(b, 1, [2] * 9, (250 + ahead) & 255)
        assert got == (LATE if -20 < ahead <= 0 else TAKEN), ahead


def test_sequence_numbers_are_of_each_source_and_universe(porch):
    send(porch, 1, [1] * 510, 100)
    assert send(porch, 2, [1] * 90, 90) == TAKEN
    louder = replace(B, priority=150)
    assert send(porch, 1, [2] * 510, 95, louder) == TAKEN


def test_highest_priority_has_it_and_the_first_of_equals_stays(porch):
    """6.2.3; what is done among equals is the receiver's to say: live.h does."""
    send(porch, 1, [1] * 510, 0)
    assert send(porch, 1, [2] * 510, 0, B) == LOWER
    assert send(porch, 1, [2] * 510, 1, replace(B, priority=99)) == LOWER
    assert send(porch, 1, [2] * 510, 2, replace(B, priority=101)) == TAKEN
    porch.run(30)
    assert porch.wire(1) == b"\x02"
    assert send(porch, 1, [1] * 510, 1) == LOWER
    porch.run(2501)  # the louder one falls silent
    assert send(porch, 1, [1] * 510, 2) == TAKEN
    porch.run(30)
    assert porch.wire(1) == b"\x01"
    assert send(porch, 1, [3] * 510, 3, replace(A, priority=0)) == TAKEN, (
        "a source may lower its own"
    )
    assert send(porch, 1, [2] * 510, 9, replace(B, priority=1)) == TAKEN


@pytest.mark.parametrize(
    ("at", "value", "told"),
    [
        (0, 1, NOT_E131),  # preamble size, 5.1
        (4, 0x42, NOT_E131),  # packet identifier, 5.3
        (16, 0x80, NOT_E131),  # flags, 5.4
        (17, 0x7B, NOT_E131),  # length, 5.4
        (21, 5, NOT_E131),  # root vector, 5.5
        (39, 0x65, NOT_E131),  # framing length, 6.1
        (43, 1, NOT_E131),  # framing vector
        (108, 201, NOT_E131),  # priority, 6.2.3
        (116, 0x18, NOT_E131),  # DMP length, 7.1
        (117, 3, NOT_E131),  # DMP vector, 7.2
        (118, 0xA2, NOT_E131),  # address and data type, 7.3
        (120, 1, NOT_E131),  # first address, 7.4
        (122, 2, NOT_E131),  # increment, 7.5
        (124, 12, NOT_E131),  # property count, 7.6
        (125, 0xDD, NOT_LIGHT),  # start code of priorities a slot, 7.7
        (112, PREVIEW, NOT_LIGHT),  # 6.2.6
        (114, 9, NOT_OURS),
        (114, 0, NOT_OURS),  # universe 0 is no universe, 6.2.7
        (113, 0xFA, NOT_OURS),
    ],
)
def test_each_field_that_is_wrong_is_noticed(porch, at, value, told):
    packet = bytearray(VECTOR_DATA)
    packet[at] = value
    porch.shown()
    assert porch.packet(packet) == told
    assert porch.run(100).state() == PLAYING
    assert porch.packet(VECTOR_DATA[:-1]) == NOT_E131, "cut short"
    assert porch.packet(b"") == NOT_E131
    assert porch.packet(VECTOR_DATA + b"more") == TAKEN


def test_discovery_is_not_light(porch):
    assert porch.packet(discovery_packets(A, [1, 2])[0]) == NOT_E131
    assert porch.run(50).state() == PLAYING


def test_short_packets_leave_the_rest_dark(porch):
    whole_frame(porch, 200, 0)
    porch.run(20)
    send(porch, 1, [50] * 3, 1)
    assert porch.run(40).wire(510) == bytes([50] * 3) + bytes(507)


def test_synchronised_frames_wait_for_their_packet(board):
    """11.1: from the first synchronisation packet on; frozen or free when it stops."""
    b = board(memory=2000)
    b.heed_sync()
    b.file(0, flash_image(show_of(frames=40, counts=(200, 20))))
    b.play(0)
    b.run(100)
    whole_frame(b, 1, 0, sync=50)
    b.run(10)
    assert b.wire(1) == b"\x01", "before the first one, data is shown at once"
    assert b.packet(sync_packet(A.cid, 50, 0)) == TAKEN
    whole_frame(b, 2, 1, sync=50)
    b.run(40)
    assert b.wire(660) == bytes([1] * 660)
    assert b.packet(sync_packet(B.cid, 50, 1)) == NOT_OURS
    assert b.packet(sync_packet(A.cid, 50, 0)) == LATE
    assert b.packet(sync_packet(A.cid, 51, 1)) == NOT_OURS
    assert b.packet(sync_packet(A.cid, 50, 1)) == TAKEN
    assert b.wire(660) == bytes([2] * 660)
    for i in range(40):
        whole_frame(b, 3, i + 2, sync=50)
        b.run(100)
    assert b.wire(660) == bytes([2] * 660), "frozen, for Force_Synchronization is 0"
    whole_frame(b, 4, 50, sync=50, options=FREE_RUN)
    b.run(30)
    assert b.wire(660) == bytes([4] * 660)


def test_sync_is_heeded_by_choice_only(porch):
    whole_frame(porch, 1, 0, sync=50)
    assert porch.packet(sync_packet(A.cid, 50, 0)) == NOT_OURS
    whole_frame(porch, 2, 1, sync=50)
    assert porch.run(30).wire(1) == b"\x02"


def test_light_from_outside_is_held_to_the_caps(board):
    frames = show_of(frames=40, counts=(170,))
    frames = replace(frames, codes=(frames.codes // 8).astype(np.uint8))
    limit = 100 * 510 * 4096
    b = board(memory=2000)
    b.file(0, flash_image(replace(frames, meta={"caps": one_cap(limit, frames)})))
    b.play(0)
    b.run(100)
    send(b, 1, [255] * 510)
    b.run(30)
    wire = np.frombuffer(b.wire(510), np.uint8)
    assert wire.sum() * 4096 <= limit and wire.min() == wire.max() == 99
    send(b, 1, [100] * 510, 1)
    assert b.run(30).wire(510) == bytes([100] * 510), "exactly full is not over"


def test_groups_to_join_are_the_standards(porch):
    """9.3.1."""
    assert [porch.universe(i) for i in range(4)] == [1, 2, 3, 0]
    assert multicast_v4(300) == "239.255.1.44"


def test_nothing_is_taken_before_an_image_said_what_the_lines_are(board):
    b = board()
    assert b.packet(VECTOR_DATA) == NOBODY and b.run(50).state() == DARK


def test_ten_thousand_damaged_packets(fuzz_program, tmp_path):
    """Under the sanitizers: frames stay within the caps, and afterwards all is as before."""
    frames = show_of(frames=40, counts=(200, 20))
    bright = int(frames.codes.sum(axis=(1, 2), dtype=np.int64).max()) * 4096
    image = flash_image(replace(frames, meta={"caps": one_cap(bright, frames)}))
    (tmp_path / "image").write_bytes(image)
    (tmp_path / "data").write_bytes(data_packet(A, 1, bytes([255] * 510), sync=9))
    (tmp_path / "sync").write_bytes(sync_packet(A.cid, 9))
    got = subprocess.run(
        [fuzz_program, "packets", *(tmp_path / n for n in ("image", "data", "sync")), "10000", "3"],
        capture_output=True,
        text=True,
    )
    assert got.returncode == 0 and not got.stderr, got.stdout + got.stderr[-2000:]
    print(got.stdout, end="")
    told = dict(reversed(p.strip().split(" ", 1)) for p in got.stdout.strip().split(","))
    assert int(told["taken"]) > 300 and int(told["not E1.31"]) > 1000 and told["over caps"] == "0"
    assert told["back"] == "1"
