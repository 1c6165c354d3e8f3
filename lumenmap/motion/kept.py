"""Results kept with the object that they were worked out for, and gone when it goes.

A cache next to a function keeps its arguments alive. Here each owner has a dictionary of its own,
so that a house that is no longer used takes its distances and lattices with it.
"""

from __future__ import annotations

import functools
from collections.abc import Callable
from typing import Any, Concatenate, ParamSpec, Protocol, TypeVar


class Owner(Protocol):
    """Anything that has room for results."""

    @property
    def kept(self) -> dict[Any, Any]:
        """Results by the function and its arguments."""
        ...


O = TypeVar("O", bound=Owner)  # noqa: E741 the owner's type
P = ParamSpec("P")
R = TypeVar("R")


def kept(
    most: int,
) -> Callable[[Callable[Concatenate[O, P], R]], Callable[Concatenate[O, P], R]]:
    """Keep the last ``most`` results of a function with its first argument, the owner.

    The other arguments are hashable.
    """

    def decorate(function: Callable[Concatenate[O, P], R]) -> Callable[Concatenate[O, P], R]:
        @functools.wraps(function)
        def call(owner: O, /, *key: P.args, **named: P.kwargs) -> R:
            place = (key, *sorted(named.items())) if named else key
            results = owner.kept.setdefault(function, {})
            try:
                found: R = results[place]
            except KeyError:
                found = results[place] = function(owner, *key, **named)
                for old in list(results)[:-most]:  # several threads may render at once
                    results.pop(old, None)
            return found

        return call

    return decorate
