"""Looks at a set of bittings and says what is wrong with it; the engine's own quick eye.

The proof of a job is made elsewhere from pins and cuts. This one works on levels, on whole arrays,
to steer a search.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pinloom.core.bitting import Bitting
from pinloom.design.problem import DesignProblem
from pinloom.design.rules import Legal


@dataclass(frozen=True, slots=True, kw_only=True)
class Wrong:
    """What does not hold. ``opens`` = (key, lock); ``twins`` = pairs of keys cut alike;
    ``stacks`` = (lock, position) whose pins are not made or too many; ``keys`` = keys that break a
    rule about a single key.
    """

    opens: tuple[tuple[int, int], ...]
    twins: tuple[tuple[int, int], ...]
    stacks: tuple[tuple[int, int], ...]
    keys: tuple[int, ...]

    def __bool__(self) -> bool:
        return bool(self.opens or self.twins or self.stacks or self.keys)


def _packed(marks: NDArray[np.bool_]) -> NDArray[np.uint64]:
    """Marks as bits in whole words of 64."""
    padded = np.zeros(-(-len(marks) // 64) * 64, dtype=np.bool_)
    padded[: len(marks)] = marks
    return np.packbits(padded).view(np.uint64)


class Checker:
    """Checks many sets of bittings for one problem."""

    def __init__(self, problem: DesignProblem, *, least_step: int | None = None) -> None:
        self.problem = problem
        self.legal = Legal(problem)
        self._reach = (problem.least_step if least_step is None else least_step) - 1

    def opens(
        self,
        bittings: tuple[Bitting, ...],
        keys: Sequence[int] | None = None,
        locks: Sequence[int] | None = None,
    ) -> list[tuple[int, int]]:
        """(key, lock) pairs that open and shall not; only these keys and locks where given."""
        problem = self.problem
        words = np.asarray(bittings, dtype=np.int64).reshape(problem.keys, -1)
        here = np.zeros(problem.keys, dtype=np.bool_)
        here[slice(None) if keys is None else list(keys)] = True
        asked, near = _packed(here), self._near(words)
        found: list[tuple[int, int]] = []
        for number in range(len(problem.locks)) if locks is None else locks:
            lock = problem.locks[number]
            openers = [k for k in lock.openers if here[k]]
            if not openers:
                continue
            inside = asked
            for p in lock.active:
                inside = inside & np.bitwise_or.reduce(near[p, words[openers, p]], axis=0)
            mine = lock.outside.union(lock.openers)
            marks = np.unpackbits(inside.view(np.uint8), count=problem.keys)
            found += [(key, number) for key in np.flatnonzero(marks).tolist() if key not in mine]
        return found

    def _near(self, words: NDArray[np.int64]) -> NDArray[np.uint64]:
        """Keys as bits, per position and level: those whose cut is within reach of the level."""
        level = np.arange(self.problem.levels)[:, None]
        return np.array(
            [
                [_packed(row) for row in np.abs(words[:, p] - level) <= self._reach]
                for p in range(self.problem.positions)
            ]
        )

    def wrong(self, bittings: tuple[Bitting, ...]) -> Wrong:
        """Everything that does not hold."""
        return Wrong(
            opens=tuple(self.opens(bittings)),
            twins=tuple(twins(bittings)),
            stacks=tuple(self._stacks(bittings)),
            keys=tuple(k for k, word in enumerate(bittings) if self.legal.breaks(k, word)),
        )

    def _stacks(self, bittings: tuple[Bitting, ...]) -> list[tuple[int, int]]:
        found = []
        for number, lock in enumerate(self.problem.locks):
            for p in lock.active:
                levels = sorted({bittings[k][p] for k in lock.openers})
                steps = {b - a for a, b in zip(levels, levels[1:], strict=False)}
                if not steps <= self.problem.pin_sizes or len(levels) - 1 > (
                    self.problem.max_masters
                ):
                    found.append((number, p))
        return found + self._builds(bittings)

    def _builds(self, bittings: tuple[Bitting, ...]) -> list[tuple[int, int]]:
        """Chambers that no build-up pin would fill."""
        problem = self.problem
        found = []
        for group, locks in enumerate(problem.control_locks):
            control = bittings[problem.chart_keys + group]
            for number in locks:
                lock = problem.locks[number]
                for p in lock.active:
                    deepest = max((bittings[k][p] for k in lock.openers), default=0)
                    if problem.control_low is not None and (
                        deepest - control[p] > problem.control_low
                    ):
                        found.append((number, p))
        return found


def twins(bittings: tuple[Bitting, ...]) -> list[tuple[int, int]]:
    """Pairs of neighbours among keys with one and the same bitting."""
    seen: dict[Bitting, int] = {}
    found = []
    for key, word in enumerate(bittings):
        if word in seen:
            found.append((seen[word], key))
        seen[word] = key
    return found
