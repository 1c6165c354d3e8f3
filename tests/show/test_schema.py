"""The printed schemas are schemas, and the example files fit them."""

import json
import tomllib

import jsonschema
import pytest


@pytest.fixture(params=["house", "show"])
def schema(request, lumenmap):
    return request.param, json.loads(lumenmap("schema", request.param).out)


def test_it_is_a_schema_that_the_examples_fit(schema, examples):
    """Checked by the jsonschema library against JSON Schema draft 2020-12."""
    name, content = schema
    jsonschema.Draft202012Validator.check_schema(content)
    files = [p for p in examples.glob("*/*.toml") if name in tomllib.loads(p.read_text())]
    files = [p for p in files if (name == "house") == ("house" in p.stem)]
    assert files
    for path in files:
        jsonschema.validate(tomllib.loads(path.read_text()), content)


def test_it_refuses_an_option_that_the_effect_has_not(lumenmap):
    content = json.loads(lumenmap("schema", "show").out)
    layer = {"effect": "chase", "sped": 1}
    show = {"show": {"length": "1 s"}, "cue": [{"layer": [layer]}]}
    with pytest.raises(jsonschema.ValidationError, match="sped"):
        jsonschema.validate(show, content)
    layer.pop("sped")
    jsonschema.validate(show, content)


def test_ranges_and_defaults_are_in_feet_and_in_metres(lumenmap):
    content = lumenmap("schema", "show").out
    assert "6 in/s to 90 ft/s or 0.1524 m/s to 27.43 m/s" in content
    assert "if left out: 3 ft/s or 0.9144 m/s" in content
    assert "1 s to 600 s; if left out: 7 s)" in content


def test_a_show_has_a_length_or_a_sound(lumenmap):
    content = json.loads(lumenmap("schema", "show").out)
    cue = [{"layer": [{"effect": "still"}]}]
    for top in ({"length": "1 s"}, {"sound": "song.ogg"}):
        jsonschema.validate({"show": top, "cue": cue}, content)
    with pytest.raises(jsonschema.ValidationError):
        jsonschema.validate({"show": {"name": "x"}, "cue": cue}, content)
