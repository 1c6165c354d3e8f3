"""`Known`: the effects that there are, by name, each read when it is first asked for.

An installed package has dozens of effects, and a show uses a few: importing them all and reading
their signatures would take longer than reading the show.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from typing import Generic, TypeVar

T = TypeVar("T")


class Known(Mapping[str, T], Generic[T]):
    """Things by name, made when they are first asked for.

    Parameters
    ----------
    makers
        What makes each; it may raise, whenever the thing is asked for.
    """

    def __init__(self, makers: Mapping[str, Callable[[], T]]) -> None:
        self._makers = makers
        self._made: dict[str, T] = {}

    def __getitem__(self, name: str) -> T:
        if name not in self._made:
            self._made[name] = self._makers[name]()
        return self._made[name]

    def __iter__(self) -> Iterator[str]:
        return iter(self._makers)

    def __len__(self) -> int:
        return len(self._makers)

    def __contains__(self, name: object) -> bool:
        return name in self._makers  # without making it
