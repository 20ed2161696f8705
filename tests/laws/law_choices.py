"""Where the generators of the laws take their choices from.

Everything is made from one question: a whole number below a limit. A seeded generator
answers it, and keeps its answers, so that a counterexample can be replayed with simpler
ones until no simpler one is left.
"""

from __future__ import annotations

import random
from collections.abc import Callable, Sequence
from typing import TypeVar

from hypothesis import strategies as st

T = TypeVar("T")


class Choices:
    """Answers with a whole number from 0 up to, and without, a limit; 0 is the simplest.

    The answers in ``given`` come first; then those of the seeded generator, or 0 without one.
    """

    def __init__(self, seed: int | None = None, given: Sequence[int] = ()) -> None:
        self._random = random.Random(seed) if seed is not None else None
        self._given = given
        self.made: list[int] = []

    def __repr__(self) -> str:
        return f"Choices(given={self.made})"

    def below(self, limit: int) -> int:
        at = len(self.made)
        if at < len(self._given):
            answer = self._given[at] % limit
        else:
            answer = self._random.randrange(limit) if self._random is not None else 0
        self.made.append(answer)
        return answer


def choices() -> st.SearchStrategy[Choices]:
    """The strategy of choices. A seed spreads them better than drawing each by itself."""
    return st.integers(0, 2**64 - 1).map(Choices)


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


def simplest(made: Sequence[int], fails: Callable[[Choices], bool], tries: int = 400) -> list[int]:
    """Answers as simple as can be found in so many tries that still make ``fails`` true."""
    best = list(made)
    size = max(1, len(best) // 2)
    while size and tries > 0:
        at = 0
        while at < len(best) and tries > 0:
            shorter = best[:at] + best[at + size :]
            zeroed = best[:at] + [0] * len(best[at : at + size]) + best[at + size :]
            for candidate in (shorter, zeroed):
                tries -= 1
                if candidate != best and fails(Choices(given=candidate)):
                    best = candidate
                    break
            else:
                at += size
        size //= 2
    return best
