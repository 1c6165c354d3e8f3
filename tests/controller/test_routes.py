import pytest

from lumenmap.controller.e131.routes import Destination
from lumenmap.controller.files.frameset import FrameLine
from lumenmap.core.errors import InputError
from lumenmap.pixels.universes import plan_universes

LINES = [FrameLine("front", 0, 200, 1, "RGB"), FrameLine("back", 200, 50, 9, "RGB")]
UNIVERSES = plan_universes(LINES, 3)
H1, H2 = ("127.0.0.1", 5568), ("127.0.0.2", 5568)


def test_one_address_for_all_lines():
    got = Destination(("127.0.0.1",)).routes(UNIVERSES)
    assert got.data == ((H1,), (H1,), (H1,))
    assert got.sync is None and got.discovery is None, "these two go to multicast only"


def test_address_for_a_line():
    by_line = Destination(("front=127.0.0.1", "back=127.0.0.2"))
    assert by_line.routes(UNIVERSES).data == ((H1,), (H1,), (H2,))
    with pytest.raises(InputError, match='line "back" has no address; add back=ADDRESS'):
        Destination(("front=127.0.0.1",)).routes(UNIVERSES)
    with pytest.raises(InputError, match='to: no line "frnt"; did you mean "front"'):
        Destination(("frnt=127.0.0.1",)).routes(UNIVERSES)


def test_multicast_by_universe():
    got = Destination(multicast=True).routes(UNIVERSES)
    assert [a[0][0] for a in got.data] == ["239.255.0.1", "239.255.0.2", "239.255.0.9"]
    assert got.discovery == ("239.255.250.214", 5568)


def test_multicast_of_ipv6_by_universe():
    """E1.31-2018, 9.3.2: FF18::83:00:HH:LL, in octets; universe 300 by two open libraries."""
    got = Destination(multicast=True, ipv6=True, sync=300).routes(UNIVERSES)
    assert [a[0] for a in got.data] == [
        ("ff18::8300:1", 5568, 0, 0),
        ("ff18::8300:2", 5568, 0, 0),
        ("ff18::8300:9", 5568, 0, 0),
    ]
    assert got.sync[0] == "ff18::8300:12c" and got.discovery[0] == "ff18::8300:fad6"
    with pytest.raises(InputError, match="ipv6: needs `multicast`"):
        Destination(("::1",), ipv6=True).routes(UNIVERSES)


@pytest.mark.parametrize(
    ("to", "match"),
    [
        ("", "isn't an address"),
        ("not an address", "isn't an address; expected one like"),
        ("192.168.1", "four numbers from 0 to 255"),
        ("192.168.1.256", "four numbers from 0 to 255"),
        ("1.2.3.4.5", "four numbers"),
        ("3232235777", "four numbers"),
        ("a" * 300, "isn't an address"),
        ("255.255.255.255", "more than one machine"),
        ("239.255.0.1", "more than one machine"),
        ("0.0.0.0", "more than one machine"),
        ("ff18::8300:1", "multicast group"),
        ("..", "isn't an address"),
    ],
)
def test_what_is_no_address_is_refused(to, match):
    with pytest.raises(InputError, match=match):
        Destination((to,)).routes(UNIVERSES)


def test_name_that_nobody_knows_is_refused(monkeypatch):
    def unknown(*_args, **_kwargs):
        raise OSError(-2, "Name or service not known")

    monkeypatch.setattr("socket.getaddrinfo", unknown)
    with pytest.raises(InputError, match='"porch.local" can\'t be found: Name or service not'):
        Destination(("porch.local",)).routes(UNIVERSES)


def test_contradictions_are_refused():
    with pytest.raises(InputError, match="no address given; give `to` the"):
        Destination().routes(UNIVERSES)
    with pytest.raises(InputError, match="`to` and `multicast` exclude each other"):
        Destination(("127.0.0.1",), multicast=True).routes(UNIVERSES)
    with pytest.raises(InputError, match="sync: .* go to multicast only"):
        Destination(("127.0.0.1",), sync=7).routes(UNIVERSES)
    for sync in (-1, 64000):
        with pytest.raises(InputError, match=f"synchronisation universe is {sync}; E1.31 has"):
            Destination(multicast=True, sync=sync).routes(UNIVERSES)
    with pytest.raises(InputError, match="port: is 0; expected 1 to 65535"):
        Destination(("127.0.0.1",), port=0).routes(UNIVERSES)
