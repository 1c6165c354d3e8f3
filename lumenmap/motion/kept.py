"""Results kept with the object that they were worked out for, and gone when it goes.

A cache next to a function keeps its arguments alive. Here each owner has a dictionary of its own,
so that a house that is no longer used takes its distances and lattices with it.
"""

from __future__ import annotations

import functools
from collections.abc import Callable
from typing import Any, Concatenate, ParamSpec, Protocol, TypeVar

import numpy as np
from numpy.typing import NDArray


class Owner(Protocol):
    """Anything that has room for results."""

    @property
    def kept(self) -> dict[Any, Any]:
        """Results by the function and its arguments."""
        ...


Own = TypeVar("Own", bound=Owner)
P = ParamSpec("P")
R = TypeVar("R")
A = TypeVar("A", bound=NDArray[Any])


def read_only(array: A) -> A:
    """Return a view of an array that can't be written to; the array itself stays as it is."""
    view = array.view()
    view.setflags(write=False)
    return view


def _shared(result: R) -> R:
    """Make a result that many will get read-only, arrays in a tuple too."""
    for one in result if isinstance(result, tuple) else (result,):
        while isinstance(one, np.ndarray):  # and what a view looks at, which a renderer may use
            one.setflags(write=False)
            one = one.base
    return result


def kept(
    most: int,
) -> Callable[[Callable[Concatenate[Own, P], R]], Callable[Concatenate[Own, P], R]]:
    """Keep the last ``most`` results of a function with its first argument, the owner.

    The other arguments are hashable.
    """

    def decorate(function: Callable[Concatenate[Own, P], R]) -> Callable[Concatenate[Own, P], R]:
        @functools.wraps(function)
        def call(owner: Own, /, *key: P.args, **named: P.kwargs) -> R:
            place = (key, *sorted(named.items())) if named else key
            results = owner.kept.setdefault(function, {})
            try:
                found: R = results[place]
            except KeyError:
                found = results[place] = _shared(function(owner, *key, **named))
                for old in list(results)[:-most]:  # several threads may render at once
                    results.pop(old, None)
            return found

        return call

    return decorate
