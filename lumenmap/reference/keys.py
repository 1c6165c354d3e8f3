"""The keys of a file, table by table, from the pydantic model that reads it."""

from __future__ import annotations

import inspect
import re
from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from typing import Any, get_args, get_origin

from pydantic import BaseModel
from pydantic.fields import FieldInfo

from lumenmap.core.quantity import Quantity
from lumenmap.reference.page import KEYS, Section, meaning
from lumenmap.reference.types import default_in_words, in_words, quantities


@dataclass(frozen=True, slots=True)
class _Inner:
    """A key that holds tables: one, a list, or one for each name; perhaps among other values."""

    key: str
    model: type[BaseModel]
    many: str
    mixed: bool

    def heading(self, outer: str) -> str:
        """Write the table's heading as the file does."""
        path = f"{outer}{self.key}"
        if self.mixed and self.many == "list":
            return f"[[{outer.rstrip('.')}]] {self.key} item"
        return {"list": f"[[{path}]]", "dict": f"[{path}.NAME]"}.get(self.many, f"[{path}]")


def sections(model: type[BaseModel], outer: str = "") -> tuple[Section, ...]:
    """Return a section for every table that a model holds, in its order."""
    return tuple(_sections(model, outer))


def section(model: type[BaseModel], title: str, *, given: bool = False) -> Section:
    """Return the section of one table; ``given`` if it is ours to write and a person's to read."""
    tables = {i.key for i in _inner(model) if not i.mixed}
    rows = [
        _row(field.alias or key, field, given)
        for key, field in model.model_fields.items()
        if (field.alias or key) not in tables
    ]
    return Section(title, _lead(model), KEYS, tuple(rows))


def written(model: type[BaseModel]) -> Section:
    """Return how each quantity of a file is written."""
    found: dict[str, Quantity] = {}
    for one in _models(model):
        for field in one.model_fields.values():
            for q in quantities(field.annotation, field.metadata):
                name = re.split(r",| over", q.words)[0]
                found.setdefault(name, q)
    rows = tuple((name, q.like) for name, q in found.items() if q.like)
    return Section("How values are written", "", ("value", "written as"), rows, ())


def _sections(model: type[BaseModel], outer: str) -> Iterator[Section]:
    for inner in _inner(model):
        yield section(inner.model, inner.heading(outer))
        yield from _sections(inner.model, f"{outer}{inner.key}.")


def _models(model: type[BaseModel]) -> Iterator[type[BaseModel]]:
    yield model
    for inner in _inner(model):
        yield from _models(inner.model)


def _row(key: str, field: FieldInfo, given: bool) -> tuple[str, str, str]:
    required = field.is_required() and not given
    says = meaning(field.description or "", default_in_words(field), required=required)
    return key, in_words(field.annotation, field.metadata), says


def _lead(model: type[BaseModel]) -> str:
    """Return the first paragraph of the model's docstring, without the table's own name."""
    text = " ".join((inspect.getdoc(model) or "").partition("\n\n")[0].split())
    text = re.sub(r"^``.*?``(, ``.*?``)*: ", "", text).replace("``", "")
    return f"{text[:1].upper()}{text[1:]}"


def _inner(model: type[BaseModel]) -> list[_Inner]:
    found = []
    for key, field in model.model_fields.items():
        kinds: list[Any] = [field.annotation]
        many, mixed = "", False
        for kind in kinds:
            parts = [a for a in get_args(kind) if a is not type(None)]
            kinds += parts
            many = many or {list: "list", dict: "dict"}.get(get_origin(kind), "")
        tables = [k for k in kinds if isinstance(k, type) and issubclass(k, BaseModel)]
        if len(tables) == 1:
            mixed = str in kinds if many == "list" else _among_others(kinds)
            found.append(_Inner(field.alias or key, tables[0], many, mixed))
    return found


def _among_others(kinds: list[Any]) -> bool:
    """Return whether a value may be a table, but also a list or a length."""
    return Fraction in kinds or any(get_origin(k) is list for k in kinds)
