import csv
import hashlib
import re
from pathlib import Path
from uuid import UUID

import pytest
from sacn.messages.data_packet import DataPacket
from sacn.messages.sync_packet import SyncPacket
from sacn.messages.universe_discovery import UniverseDiscoveryPacket

from lumenmap.controller.e131.packets import (
    TERMINATED,
    Source,
    data_packet,
    discovery_packets,
    multicast_v4,
    multicast_v6,
    sync_packet,
)
from lumenmap.core.errors import InputError

TABLE = Path(__file__).parents[1] / "tables" / "e131_data_packet.csv"
CID = UUID("6ba7b810-9dad-11d1-80b4-00c04fd430c8")


def rows():
    lines = TABLE.read_text().splitlines()
    return list(csv.DictReader(line for line in lines if not line.startswith("#")))


def wanted(value, size, n, universe):
    if value == "CID":
        return CID.bytes
    if value == "NAME":
        return b"Test source".ljust(64, b"\0")
    if value == "UNIVERSE":
        return universe.to_bytes(2, "big")
    if "n" in value:
        number = sum(int(part, 0) if part != "n" else n for part in value.split("+"))
        return number.to_bytes(size, "big")
    return bytes.fromhex(value)


@pytest.mark.parametrize("n", [0, 3, 510, 512])
@pytest.mark.parametrize("universe", [1, 300, 63999])
def test_data_packet_is_the_field_table(source, n, universe):
    packet = data_packet(
        source, universe, bytes(range(256)) * 2 if n == 512 else bytes(n), sequence=7
    )
    assert len(packet) == 126 + n
    at = 0
    for row in rows():
        start, size = int(row["octet"]), int(row["size"])
        assert start == at, "the table leaves no gap"
        at += size
        assert packet[start:at] == wanted(row["value"], size, n, universe), row
    assert at == 126


def test_length_fields_of_a_full_packet_are_those_of_the_standards_example(source):
    """Appendix B of the standard, as two libraries quote it: 72 6e, 72 58, 72 0b."""
    packet = data_packet(source, 1, bytes(512))
    assert [packet[o : o + 2].hex() for o in (16, 38, 115)] == ["726e", "7258", "720b"]


def test_data_packet_vector(source):
    """A vector checked by an independent decoder and by tshark."""
    slots = bytes.fromhex("ff000000ff000000ff123456")
    packet = data_packet(source, 1, slots, sequence=7)
    assert hashlib.sha256(packet).hexdigest() == (
        "fae3320ae9f5489fbede8bb6f681a3904e49ca8669ff94b5f14bd9ab7a8dedde"
    )


def test_sync_packet_vector():
    """The bytes of the standard's appendix B with another CID, as a test suite quotes them."""
    assert sync_packet(CID, 7962, 0x70) == bytes.fromhex(
        "001000004153432d45312e31370000007021000000086ba7b8109dad11d180b400c04fd430c8"
        "700b00000001701f1a0000"
    )


def test_packets_are_those_of_the_sacn_library(source):
    slots = bytes((7 * i) % 256 for i in range(512))
    theirs = DataPacket(tuple(CID.bytes), "Test source", 300, slots, priority=100, sequence=255)
    theirs.syncAddr = 9
    assert data_packet(source, 300, slots, sequence=255, sync=9) == bytes(theirs.getBytes())
    theirs.option_PreviewData = True
    theirs.option_StreamTerminated = True
    ours = data_packet(
        source, 300, slots, sequence=255, sync=9, options=0x80 | TERMINATED
    )  # 6.2.6, bit 7: preview
    assert ours == bytes(theirs.getBytes())
    sync = SyncPacket(tuple(CID.bytes), 7962, 5)
    assert sync_packet(CID, 7962, 5) == bytes(sync.getBytes())


@pytest.mark.parametrize("count", [1, 3, 511, 512, 513, 1500])
def test_discovery_packets_are_those_of_the_sacn_library(source, count):
    universes = tuple(range(5, 5 + count))
    theirs = UniverseDiscoveryPacket.make_multiple_uni_disc_packets(
        tuple(CID.bytes), "Test source", list(universes)
    )
    ours = discovery_packets(source, reversed(universes))
    assert ours == [bytes(p.getBytes()) for p in theirs]
    assert len(ours[-1]) == 120 + 2 * (count - 512 * (len(ours) - 1))


def test_discovery_of_nothing_is_one_empty_list(source):
    """8.5 and 12.2: a source may say that it sends nothing; page 0 of 0."""
    (packet,) = discovery_packets(source, [])
    assert len(packet) == 120 and packet[118:120] == b"\0\0"


@pytest.mark.parametrize(
    ("universe", "v4", "v6"),
    [
        (1, "239.255.0.1", "ff18::8300:1"),
        (300, "239.255.1.44", "ff18::8300:12c"),
        (63999, "239.255.249.255", "ff18::8300:f9ff"),
        (64214, "239.255.250.214", "ff18::8300:fad6"),
    ],
)
def test_multicast_groups(universe, v4, v6):
    """9.3.1 and 9.3.2; the last is the discovery universe's."""
    assert multicast_v4(universe) == v4
    assert multicast_v6(universe) == v6


@pytest.mark.parametrize("universe", [0, -1, 64000, 65535, 64214])
def test_universe_outside_the_range_is_refused(source, universe):
    for build in (
        lambda: data_packet(source, universe, b""),
        lambda: discovery_packets(source, [universe]),
        lambda: sync_packet(CID, universe),
    ):
        with pytest.raises(InputError, match=rf"universe is {universe}; E1.31 has .* 1 to 63999"):
            build()


def test_source_that_cannot_be_is_refused():
    with pytest.raises(InputError, match="priority: is 201; expected 0 to 200"):
        Source(CID, "x", 201)
    with pytest.raises(
        InputError,
        match=re.escape('name: "' + "é" * 33 + '" has 66 octets of UTF-8; expected 1 to 63'),
    ):
        Source(CID, "é" * 33)
    with pytest.raises(InputError, match="1 to 63"):
        Source(CID, "")
    assert len(data_packet(Source(CID, "x" * 63), 1, b"")) == 126
    with pytest.raises(InputError, match="a packet of 513 slots; a universe has 512"):
        data_packet(Source(CID, "x"), 1, bytes(513))
