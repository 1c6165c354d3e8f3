"""The README's tables, made from the code: ``python -m tests.readme_tables`` writes them in."""

from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path
from typing import get_args, get_origin

from pydantic import BaseModel

README = Path(__file__).resolve().parents[1] / "README.md"


def effects_table() -> str:
    from lumenmap.show.describe import table
    from lumenmap.show.registry import effects

    return table(effects())


def commands_table() -> str:
    import importlib

    from lumenmap.cli import COMMANDS

    rows = ["| command | does |", "|---|---|"]
    for name in COMMANDS:
        found = getattr(importlib.import_module(f"lumenmap.cli.{name}"), name.rstrip("_"), None)
        found = found or getattr(importlib.import_module(f"lumenmap.cli.{name}"), name)
        doc = found.info.help if hasattr(found, "info") else found.__doc__
        rows.append(f"| `lumenmap {name.rstrip('_')}` | {(doc or '').splitlines()[0]} |")
    return "\n".join(rows) + "\n"


def kinds_table() -> str:
    from lumenmap.parts.kinds import PIXEL_KINDS

    rows = [
        "| kind | order | volts | at least | mA a channel | idle mA | µs a pixel + reset |",
        "|---|---|---|---|---|---|---|",
    ]
    for k in PIXEL_KINDS.values():
        each = " / ".join(f"{v:g}" for v in k.channel_ma)
        rows.append(
            f"| `{k.name}` | {k.order} | {k.volts:g} | {k.min_volts:g} | {each} | {k.idle_ma:g} "
            f"| {k.pixel_us:g} + {k.reset_us:g} |"
        )
    return "\n".join(rows) + "\n"


def keys_table(file: type[BaseModel]) -> str:
    """Every table of a kind of file with its keys; a star where one must be given."""
    rows = ["| table | keys; * must be given |", "|---|---|", *_rows(file, "")]
    return "\n".join(rows) + "\n"


def _rows(model: type[BaseModel], prefix: str) -> list[str]:
    rows = []
    for name, inner, many in _inner(model):
        path = f"{prefix}{name}"
        head = {"list": f"[[{path}]]", "dict": f"[{path}.NAME]"}.get(many, f"[{path}]")
        told = {key for key, _, _ in _inner(inner)}
        keys = []
        for key, field in inner.model_fields.items():
            shown = field.alias or key
            if shown not in told:
                star = "*" if field.is_required() else ""
                says = (field.description or "").removesuffix(".").replace("|", "or")
                says = "" if says.startswith('"12 ft') else says  # what any length may be
                keys.append(
                    f"`{shown}`{star}" + (f" ({says[:1].lower()}{says[1:]})" if says else "")
                )
        rows += [f"| `{head}` | {', '.join(keys)} |", *_rows(inner, f"{path}.")]
    return rows


def _inner(model: type[BaseModel]) -> list[tuple[str, type[BaseModel], str]]:
    """Fields of a model that are tables themselves: name, model, and list, dict or one."""
    found = []
    for key, field in model.model_fields.items():
        kinds = [field.annotation]
        many = ""
        for kind in kinds:
            kinds += get_args(kind)
            many = many or {list: "list", tuple: "list", dict: "dict"}.get(get_origin(kind), "")
        tables = [k for k in kinds if isinstance(k, type) and issubclass(k, BaseModel)]
        if len(tables) == 1:
            found.append((field.alias or key, tables[0], many))
    return found


def house_table() -> str:
    from lumenmap.house.file import HouseFile

    return keys_table(HouseFile)


def almanac_table() -> str:
    from lumenmap.almanac.file import AlmanacFile

    return keys_table(AlmanacFile)


TABLES: dict[str, Callable[[], str]] = {
    "almanac": almanac_table,
    "commands": commands_table,
    "effects": effects_table,
    "house": house_table,
    "kinds": kinds_table,
}


def filled(text: str) -> str:
    """The README with every table made anew."""
    for name, make in TABLES.items():
        pattern = rf"(<!-- table: {name} -->\n).*?(<!-- end -->)"
        text, count = re.subn(pattern, lambda m, make=make: m[1] + make() + m[2], text, flags=re.S)
        assert count == 1, name
    return text


if __name__ == "__main__":
    README.write_text(filled(README.read_text()))
