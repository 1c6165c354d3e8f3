"""What an effect's function says of itself: its options, by its signature, and its plain words."""

from __future__ import annotations

import inspect
from collections.abc import Callable
from pathlib import Path
from typing import Annotated, Any, NamedTuple, get_args, get_origin

from lumenmap.core.errors import InputError
from lumenmap.motion.options import Kind
from lumenmap.motion.ramp_reading import read_ramp
from lumenmap.motion.reading import Reading
from lumenmap.motion.varying import Course

#: Keys of a layer in a show file, which options of effects can't be named.
RESERVED = frozenset(
    (
        *("name", "effect", "palette", "palette_at", "on", "except", "blend", "opacity", "within"),
        *("clock", "delay", "pace", "envelope", "over", "times", "then", "turns"),
    )
)


class Spec(NamedTuple):
    """One option of an effect: its kind and its default (SI).

    ``varying``: its type is `lumenmap.motion.varying.Varying`, so that the effect takes a ramp's
    course as it is.
    """

    name: str
    kind: Kind
    default: Any
    varying: bool = False

    @property
    def may_vary(self) -> bool:
        """Whether a show may give a ramp for it."""
        return self.varying or (self.kind.by_frames and not self.kind.steady)

    def usual(self, unit: str) -> str:
        """Return what holds if it is left out, in people's units."""
        kind = self.kind
        return (
            kind.unset if self.default is None else kind.text(kind.about(self.default, unit), unit)
        )

    def read(self, value: object, reading: Reading) -> Any:
        """Return what a person wrote, in SI units: a value of its kind, or a `Ramp` of them.

        Raises
        ------
        InputError
            Not of its kind, out of range, or a ramp for an option that can't vary.
        """
        if not isinstance(value, dict):
            return self.kind.read(value, reading)
        if not self.may_vary:
            raise InputError(f"can't change over time; expected {self.kind.expected(reading.unit)}")
        return read_ramp(self.kind, value, reading)


def spec_of(parameter: inspect.Parameter, hint: Any, file: Path) -> Spec:
    """Return the option that a parameter of an effect declares.

    Raises
    ------
    InputError
        Its annotation or default says too little, or contradicts itself.
    """
    name = parameter.name
    if name in RESERVED:
        raise InputError(
            f'option "{name}" has the name of a key of every layer; rename it', file=file
        )
    kinds = (
        [a for a in get_args(hint)[1:] if isinstance(a, Kind)]
        if (get_origin(hint) is Annotated)
        else []
    )
    if len(kinds) != 1:
        raise InputError(
            f'option "{name}" needs Annotated[type, Kind("what it does")] '
            "with one kind of lumenmap.motion.options",
            file=file,
        )
    if parameter.default is parameter.empty or (parameter.default is None and not kinds[0].unset):
        raise InputError(
            f'option "{name}" needs a default (or None, if its kind describes what that means)',
            file=file,
        )
    _fits(name, kinds[0], parameter.default, file)
    varying = Course in get_args(get_args(hint)[0])
    if varying and not kinds[0].gradual:
        what = type(kinds[0]).__name__
        raise InputError(f'option "{name}" is a {what}, which can\'t be Varying', file=file)
    return Spec(name, kinds[0], parameter.default, varying)


def _fits(name: str, kind: Kind, default: Any, file: Path) -> None:
    what = type(kind).__name__
    if not isinstance(kind.help, str) or not kind.help.strip():
        raise InputError(
            f'option "{name}" needs a line of help: {what}("what it does to the light", …)',
            file=file,
        )
    try:
        fits, range_ = default is None or kind.contains(default), kind.expected()
        shown = repr(default) if fits or isinstance(default, str) else kind.text(default)
        kind.schema()
    except Exception as error:  # a text where a number belongs, and whatever else stands there
        raise InputError(
            f'the range or default of option "{name}" can\'t be used: '
            f"{type(error).__name__}: {error}; expected numbers in SI",
            file=file,
        ) from error
    if not fits:
        raise InputError(
            f'the default of option "{name}" is {shown}; expected {range_}, its own range',
            file=file,
        )


def words_of(function: Callable[..., Any]) -> tuple[str, ...]:
    """Return the plain words that an effect's docstring lists."""
    listed = (inspect.getdoc(function) or "").partition("\n\nFound by:")[2].partition("\n\n")[0]
    words = (" ".join(word.split()).rstrip(".").lower() for word in listed.split(","))
    return tuple(word[:80] for word in words if word)
