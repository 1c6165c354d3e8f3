"""The browser's types, made from the messages' models: ``python -m lumenmap.desk.wire.types``.

Prints a TypeScript declaration file; ``--schema`` prints the JSON Schema that it is made from.
``page/wire.d.ts`` is its output, and a test holds it to that.
"""

from __future__ import annotations

import json
import sys
from typing import Any

from lumenmap.desk.wire.asked import CLIENT
from lumenmap.desk.wire.stretch import VERSION
from lumenmap.desk.wire.told import SERVER

_PLAIN = {
    "string": "string",
    "number": "number",
    "integer": "number",
    "boolean": "boolean",
    "null": "null",
}


def schema() -> dict[str, Any]:
    """Return the JSON Schema (draft 2020-12) of both directions, under ``$defs``."""
    asked = CLIENT.json_schema(ref_template="#/$defs/{model}")
    told = SERVER.json_schema(ref_template="#/$defs/{model}", mode="serialization")
    defs = {**asked.pop("$defs"), **told.pop("$defs"), "ClientMessage": asked}
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "$defs": {**defs, "ServerMessage": told},
    }


def declarations() -> str:
    """Return the TypeScript declarations of all messages."""
    lines = [
        "// Made by: python -m lumenmap.desk.wire.types. Don't edit; a test compares.",
        "",
        f"export type Version = {VERSION};",
        "export type Json = null | boolean | number | string | Json[] | { [key: string]: Json };",
    ]
    for name, node in sorted(schema()["$defs"].items()):
        if name == "JsonValue":
            continue
        lines.append("")
        lines += _comment(node.get("description", ""), "")
        if node.get("type") == "object" and "properties" in node:
            lines += _interface(name, node)
        else:
            lines.append(f"export type {name} = {_type(node)};")
    return "\n".join(lines) + "\n"


def _interface(name: str, node: dict[str, Any]) -> list[str]:
    # What the server tells is always whole; what a browser asks may leave out defaults.
    needed = set(node.get("required", ()))
    lines = [f"export interface {name} {{"]
    for key, value in node["properties"].items():
        lines += _comment(value.get("description", ""), "  ")
        always = key in needed or "const" in value
        lines.append(f"  {key}{'' if always else '?'}: {_type(value)};")
    return [*lines, "}"]


def _type(node: dict[str, Any]) -> str:
    if "$ref" in node:
        name = str(node["$ref"]).rsplit("/", 1)[-1]
        return "Json" if name == "JsonValue" else name
    if "const" in node:
        return json.dumps(node["const"])
    if "enum" in node:
        return " | ".join(map(json.dumps, node["enum"]))
    for key in ("anyOf", "oneOf"):
        if key in node:
            return " | ".join(dict.fromkeys(_type(n) for n in node[key]))
    kind = node.get("type")
    if kind == "array":
        if "prefixItems" in node:
            return f"[{', '.join(_type(n) for n in node['prefixItems'])}]"
        inner = _type(node.get("items", {}))
        return f"({inner})[]" if " | " in inner else f"{inner}[]"
    if kind == "object":
        inner = node.get("additionalProperties", {})
        return f"{{ [key: string]: {_type(inner) if isinstance(inner, dict) else 'Json'} }}"
    return _PLAIN.get(str(kind), "Json")


def _comment(text: str, indent: str) -> list[str]:
    words = " ".join(text.replace("*/", "* /").replace("`", "").split())
    return [f"{indent}/** {words} */"] if words else []


if __name__ == "__main__":
    print(json.dumps(schema(), indent=2) if "--schema" in sys.argv else declarations(), end="")
