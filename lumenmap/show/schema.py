"""The JSON Schema of a show file: the tables, and each effect's options from its signature."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from pathlib import Path
from typing import Any

from lumenmap.show.effects.effect import Effect
from lumenmap.show.effects.registry import effects
from lumenmap.show.effects.specs import Spec
from lumenmap.show.file import ShowFile

_NUMBERS = ("integer", "number")


def show_schema(*, effect_folders: Iterable[Path] = ()) -> dict[str, Any]:
    """Return the JSON Schema (draft 2020-12) of a show file, with all installed effects."""
    known = effects(effect_folders)
    schema = ShowFile.model_json_schema()
    top = schema["$defs"]["ShowTable"]
    top["anyOf"] = [{"required": ["length"]}, {"required": ["sound"]}]
    layer = schema["$defs"]["LayerTable"]
    layer["properties"]["effect"]["enum"] = sorted(known)
    layer["additionalProperties"] = True  # the branches below say which
    own = dict.fromkeys(layer["properties"], True)
    layer["allOf"] = [_branch(effect, own) for effect in known.values()]
    for name, table in schema["$defs"].items():
        if name != "ShowTable":
            table["properties"] = {k: _or_value(v) for k, v in table["properties"].items()}
    return {"$schema": "https://json-schema.org/draft/2020-12/schema", **schema}


def _or_value(schema: Any) -> Any:
    """Return the schema of a number so that the name of a value may stand for it."""
    if not isinstance(schema, dict):
        return schema
    written = {"type": "string", "pattern": r"^\{.*\}$"}
    numbers = [one for one in schema.get("anyOf", [schema]) if one.get("type") in _NUMBERS]
    if not numbers:
        return schema
    if "anyOf" in schema:
        return {**schema, "anyOf": [*schema["anyOf"], written]}
    said = {k: schema[k] for k in ("description", "title", "default") if k in schema}
    return {**said, "anyOf": [schema, written]}


def _branch(effect: Effect, own: dict[str, bool]) -> dict[str, Any]:
    options = {name: _or_value(option_schema(spec)) for name, spec in effect.options.items()}
    return {
        "if": {"properties": {"effect": {"const": effect.name}}, "required": ["effect"]},
        "then": {
            "description": effect.summary,
            "properties": {**own, **options},
            "additionalProperties": False,
        },
    }


def option_schema(spec: Spec) -> dict[str, Any]:
    """Return the JSON Schema of one option: its type, help, default, and range in both units."""
    ranges = _in_both_units(spec.kind.expected)
    default = _in_both_units(spec.usual)
    plain = spec.kind.schema()
    return {
        **({"anyOf": [plain, {"$ref": "#/$defs/RampTable"}]} if spec.may_vary else plain),
        "description": f"{spec.kind.help} ({ranges}; if left out: {default})",
    }


def _in_both_units(text: Callable[[str], str]) -> str:
    """Return a text in feet and in metres, or once if it has no lengths."""
    return " or ".join(dict.fromkeys([text("ft"), text("m")]))
