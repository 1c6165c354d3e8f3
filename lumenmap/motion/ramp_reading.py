"""Ramps as people write them: times and values, or from one value to another over a time."""

from collections.abc import Mapping
from itertools import pairwise
from typing import Any

import numpy as np
from pydantic import Field

from lumenmap.core.errors import InputError, unknown
from lumenmap.core.plain import shown
from lumenmap.core.toml.tables import Table
from lumenmap.motion.easing import Easing, easing, linear
from lumenmap.motion.kind import Kind
from lumenmap.motion.ramp import Ramp
from lumenmap.motion.reading import Reading

#: The most times that a ramp may have.
MOST = 256
_LIKE = '{ from = 0, to = 1, over = "10 s" } or { at = ["0 s", "10 s"], to = [0, 1] }'


class RampTable(Table):
    """A ramp: a value that changes over the time since its cue's start."""

    at: list[Any] = Field(
        [],
        description='Rising times since the cue\'s start: ["0 s", "10 s"]; or give `over`.',
    )
    to: Any = Field(description="The value at each of these times; one value after `from`.")
    from_: Any = Field(None, alias="from", description="The value at first, with `over`.")
    over: Any = Field(
        None, description='How long it takes: "20 min"; several values of `to` share it evenly.'
    )
    after: Any = Field(None, description='With `over`: when it begins; "0 s" if left out.')
    easing: str = Field("linear", description="How it gets from each value to the next.")
    repeat: bool = Field(False, description="Start again after the last time.")
    even: bool = Field(
        False, description="Brightness in steps that look even, instead of even steps of light."
    )


KEYS = tuple(field.alias or name for name, field in RampTable.model_fields.items())


def read_ramp(kind: Kind, table: Mapping[str, object], reading: Reading) -> Ramp:
    """Return the ramp of a table in a file, its values in SI.

    Parameters
    ----------
    kind
        What each value is.

    Raises
    ------
    InputError
        An unknown key, times that don't rise, other than as many values as times, or a value that
        is not of the kind; the key is the table's.
    """
    for key in table:
        if key not in KEYS:
            said = unknown("key of a ramp", str(key), KEYS, plural="Keys")
            raise InputError(f"{said}; expected {_LIKE}")
    flags = {name: _flag(table, name) for name in ("repeat", "even")}
    values, times = _values(kind, table, reading), _times(table, reading)
    if len(times) != len(values):
        counts = f"{_count(len(times), 'time')} but {_count(len(values), 'value')}"
        raise InputError(f"has {counts}; expected as many")
    if not 2 <= len(times) <= MOST:
        raise InputError(f"has {_count(len(times), 'time')}; expected 2 to {MOST}")
    if any(b <= a for a, b in pairwise(times)):
        like = 'expected rising times such as ["0 s", "10 s"]'
        raise InputError(f"the times don't rise; {like}", key="at")
    if flags["repeat"] and times[0] != 0:
        raise InputError('a ramp that repeats starts at "0 s"')
    if any(np.float64(b) - np.float64(a) < 1e-3 for a, b in pairwise(times)):
        raise InputError("the times are too close to each other; expected 1 ms between them")
    return Ramp(times, values, _eased(table), flags["repeat"], flags["even"], kind.low, kind.high)


def _values(kind: Kind, table: Mapping[str, object], reading: Reading) -> tuple[float, ...]:
    to = table.get("to")
    if to is None:
        raise InputError(f"a ramp needs `to`, the values; expected {_LIKE}")
    listed = list(to) if isinstance(to, list) else [to]
    if "from" in table:
        listed.insert(0, table["from"])
    out = []
    for i, value in enumerate(listed[: MOST + 1]):
        if isinstance(value, (dict, list)):
            raise InputError(f"value {i + 1} isn't a number; expected {_LIKE}")
        try:
            out.append(float(kind.read(value, reading)))
        except InputError as error:
            raise InputError(f"value {i + 1} {error.message}") from None
    return tuple(out)


def _times(table: Mapping[str, object], reading: Reading) -> tuple[float, ...]:
    if ("at" in table) == ("over" in table):
        raise InputError(f"a ramp needs either `at` or `over`; expected {_LIKE}")
    if "over" in table:
        over, after = _time(table["over"], reading), _time(table.get("after", 0), reading)
        if not over:
            raise InputError("is 0 s; expected a time above 0", key="over")
        to = table.get("to")
        count = (len(to) if isinstance(to, list) else 1) + ("from" in table)
        return tuple(after + over * i / max(count - 1, 1) for i in range(min(count, MOST + 1)))
    if "after" in table or "from" in table:
        raise InputError(f"`from` and `after` go with `over`; expected {_LIKE}")
    if not isinstance(at := table["at"], list):
        raise InputError(f"`at` isn't a list of times; expected {_LIKE}")
    return tuple(_time(value, reading) for value in at[: MOST + 1])


def _time(value: object, reading: Reading) -> float:
    if isinstance(value, bool) or not isinstance(value, (str, int, float)):
        raise InputError(f'time is {shown(value)}; expected "12 s", "250 ms" or "2 beats"')
    got = reading.duration(value)
    if not 0 <= got <= 1e7:
        raise InputError(f'time is "{value}"; expected 0 s or more')
    return got


def _flag(table: Mapping[str, object], name: str) -> bool:
    value = table.get(name, False)
    if not isinstance(value, bool):
        raise InputError(f"{name} is {shown(value)}; expected true or false")
    return value


def _eased(table: Mapping[str, object]) -> Easing:
    word = table.get("easing")
    if word is None:
        return linear
    if not isinstance(word, str):
        raise InputError(f'easing is {shown(word)}; expected an easing such as "ease-in-out"')
    try:
        return easing(word)
    except InputError as error:
        raise error.within("easing") from None


def _count(number: int, what: str) -> str:
    return f"{number} {what}{'' if number == 1 else 's'}"
