"""The printed schemas are schemas, and the example files fit them."""

import json
import tomllib

import jsonschema
import pytest


@pytest.fixture
def schema(lumenmap):
    def of(name):
        return jsonschema.Draft202012Validator(json.loads(lumenmap("schema", name).out))

    return of


@pytest.mark.parametrize("name", ["house", "show"])
def test_it_is_a_schema_that_the_examples_fit(name, schema, examples):
    """Checked by the jsonschema library against JSON Schema draft 2020-12."""
    validator = schema(name)
    validator.check_schema(validator.schema)
    files = [p for p in examples.glob("*/*.toml") if name in tomllib.loads(p.read_text())]
    files = [p for p in files if (name == "house") == ("house" in p.stem)]
    assert files
    for path in files:
        validator.validate(tomllib.loads(path.read_text()))


def test_it_refuses_an_option_that_the_effect_has_not(schema):
    validator = schema("show")
    layer = {"effect": "chase", "sped": 1}
    show = {"show": {"length": "1 s"}, "cue": [{"layer": [layer]}]}
    with pytest.raises(jsonschema.ValidationError, match="sped"):
        validator.validate(show)
    layer.pop("sped")
    validator.validate(show)


def test_ranges_and_defaults_are_in_feet_and_in_metres(lumenmap):
    content = lumenmap("schema", "show").out
    assert "6 in/s to 90 ft/s or 0.16 m/s to 27 m/s" in content
    assert "if left out: 3 ft/s or 0.91 m/s" in content
    assert "1 s to 600 s; if left out: 7 s)" in content


def test_a_show_has_a_length_or_a_sound(schema):
    validator = schema("show")
    cue = [{"layer": [{"effect": "still"}]}]
    for top in ({"length": "1 s"}, {"sound": "song.ogg"}):
        validator.validate({"show": top, "cue": cue})
    with pytest.raises(jsonschema.ValidationError):
        validator.validate({"show": {"name": "x"}, "cue": cue})
