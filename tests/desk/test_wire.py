"""The messages: read strictly, packed as described, and the browser's types are theirs."""

import json
import zlib
from pathlib import Path

import numpy as np
import pytest

from lumenmap.core.errors import InputError
from lumenmap.desk.wire import stretch as wire
from lumenmap.desk.wire import types
from lumenmap.desk.wire.asked import MakeEdits, Open, SetValue
from lumenmap.desk.wire.told import Refused

PAGE = Path(types.__file__).parents[1] / "page"


def stretch(frames=3, pixels=4, final=True):
    rng = np.random.default_rng(1)
    return wire.Stretch(
        show=2,
        version=7,
        first=90,
        codes=rng.integers(0, 256, (frames, pixels, 3), np.uint8),
        amps=rng.random((frames, 2)).astype(np.float32),
        gain=rng.random(frames).astype(np.float32),
        load=rng.random(frames).astype(np.float32),
        full=rng.integers(0, 9, frames),
        final=final,
    )


@pytest.mark.parametrize("small", [False, True])
@pytest.mark.parametrize("frames", [1, 2, 3])
def test_a_stretch_is_read_as_it_was_packed(frames, small):
    made = stretch(frames)
    got = wire.unpack(made.pack(small=small))
    assert (got.show, got.version, got.first, got.final, got.flashing) == (2, 7, 90, True, False)
    for name in ("codes", "amps", "gain", "load", "full"):
        assert (getattr(got, name) == getattr(made, name)).all(), name


def test_a_stretch_has_the_layout_that_its_description_gives():
    message = stretch(2, 4).pack()
    head = np.frombuffer(message, "<u4", 8)
    assert message[0] == 1 and message[1] == 2 and np.frombuffer(message, "<u2", 1, 2)[0] == 2
    assert head[1:].tolist() == [2, 7, 90, 2, 4, 3, 0]
    at = 32 + 4 * 2 * 2 + 4 * 2 + 4 * 2 + 2 * 2
    assert message[at:] == stretch(2, 4).codes.tobytes()


def test_a_small_stretch_is_what_browsers_call_deflate():
    message = stretch().pack(small=True)
    assert message[1] & 1
    assert zlib.decompress(message[32:])  # RFC 1950, which the Compression API names "deflate"


@pytest.mark.parametrize("cut", [0, 5, 31, 40, -1])
def test_a_stretch_cut_short_is_refused(cut):
    with pytest.raises(ValueError):
        wire.unpack(stretch().pack()[:cut])


def test_a_message_is_read():
    text = (
        '{"type": "edit", "id": 4, "file": "show.toml", "version": 1, '
        '"edits": [{"op": "set", "path": ["cue", 0, "start"], "old": null, "new": "2 s"}]}'
    )
    got = wire.read(text)
    assert isinstance(got, MakeEdits)
    assert got.edits == [SetValue(path=["cue", 0, "start"], old=None, new="2 s")]
    assert wire.read('{"type": "open", "file": "a.toml"}') == Open(file="a.toml")


@pytest.mark.parametrize(
    ("text", "why"),
    [
        ("", "isn't one of the desk's"),
        ("[]", "isn't one of the desk's"),
        ('{"type": "reboot"}', "isn't one of the desk's"),
        ('{"type": "open", "file": "a.toml", "more": 1}', "open.more"),
        ('{"type": "open", "file": 5}', "open.file"),
        ('{"type": "look", "file": "a", "frame": -1, "playing": true}', "look.frame"),
        ('{"type": "look", "file": "a", "frame": "1", "playing": true}', "look.frame"),
        ('{"type": "brightness", "id": 1, "level": 2}', "brightness.level"),
        ('{"type": "brightness", "id": 1, "level": NaN}', "isn't one of the desk's"),
        ("[" * 30_000, "isn't one of the desk's"),
        ('{"type": "open", "file": "' + "a" * 65_000 + '"}', "open.file"),
        (" " * 65_537, "65,537 bytes; the most is 65,536"),
    ],
)
def test_anything_else_is_refused(text, why):
    with pytest.raises(InputError, match=why):
        wire.read(text)


def test_edits_are_limited():
    one = {"op": "remove", "path": ["cue", 0], "old": None}
    text = json.dumps({"type": "edit", "id": 1, "file": "a", "version": 0, "edits": [one] * 201})
    with pytest.raises(InputError, match="edit.edits"):
        wire.read(text)


def test_the_browsers_types_are_those_of_the_messages():
    assert (PAGE / "wire.d.ts").read_text("utf-8") == types.declarations()


def test_the_schema_is_one_and_describes_what_is_sent():
    import jsonschema

    schema = types.schema()
    jsonschema.Draft202012Validator.check_schema(schema)
    told = {**schema, "$ref": "#/$defs/ServerMessage"}
    jsonschema.validate(json.loads(wire.write(Refused(id=3, sentence="No."))), told)
    with pytest.raises(jsonschema.ValidationError):
        jsonschema.validate({"type": "refused"}, told)
