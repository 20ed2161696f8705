"""Where the generators of the laws take their choices from.

Everything is made from one question: a whole number below a limit. Hypothesis answers it
where a counterexample is to be made small, a seeded generator where only speed counts.
"""

from __future__ import annotations

import random
from collections.abc import Callable, Sequence
from functools import lru_cache
from typing import Any, Protocol, TypeVar

from hypothesis import strategies as st

T = TypeVar("T")


class Choices(Protocol):
    """Answers with a whole number from 0 up to, and without, ``limit``."""

    def below(self, limit: int) -> int: ...


@lru_cache(maxsize=512)
def _below(limit: int) -> st.SearchStrategy[int]:
    return st.integers(0, limit - 1)


class Drawn:
    """Choices drawn from Hypothesis: small ones are tried first when a failure is shrunk."""

    def __init__(self, draw: Callable[[st.SearchStrategy[int]], int]) -> None:
        self._draw = draw

    def below(self, limit: int) -> int:
        return self._draw(_below(limit)) if limit > 1 else 0


class Rolled:
    """Choices of a seeded generator."""

    def __init__(self, seed: int) -> None:
        self._random = random.Random(seed)

    def below(self, limit: int) -> int:
        return self._random.randrange(limit)


def pick(choices: Choices, options: Sequence[T]) -> T:
    """One of the options; the first is the simplest."""
    return options[choices.below(len(options))]


def chance(choices: Choices, part: int, of: int) -> bool:
    """True in ``part`` of ``of`` cases; false is the simplest."""
    return choices.below(of) >= of - part


def some(choices: Choices, options: Sequence[T], least: int = 0) -> list[T]:
    """Some of the options, in their order, at least so many of them."""
    kept = [option for option in options if chance(choices, 2, 3)]
    return kept if len(kept) >= least else list(options[:least])


def from_choices(make: Callable[[Choices], T]) -> st.SearchStrategy[T]:
    """The Hypothesis strategy of what ``make`` makes of choices."""

    @st.composite
    def strategy(draw: Callable[[st.SearchStrategy[Any]], Any]) -> T:
        return make(Drawn(draw))

    return strategy()
