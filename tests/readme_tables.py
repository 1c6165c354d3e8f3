"""The README's tables, made from the code: ``python -m tests.readme_tables`` writes them in."""

from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path

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


TABLES: dict[str, Callable[[], str]] = {
    "commands": commands_table,
    "effects": effects_table,
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
