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


class Checker:
    """Checks many sets of bittings for one problem."""

    def __init__(self, problem: DesignProblem, *, least_step: int | None = None) -> None:
        self.problem = problem
        self.legal = Legal(problem)
        self._reach = (problem.least_step if least_step is None else least_step) - 1
        self._exempt = np.zeros((len(problem.locks), problem.keys), dtype=bool)
        for number, lock in enumerate(problem.locks):
            if not lock.openers:
                self._exempt[number] = True
            self._exempt[number, list(lock.openers)] = True
            self._exempt[number, sorted(lock.outside)] = True

    def opens(
        self,
        bittings: tuple[Bitting, ...],
        keys: Sequence[int] | None = None,
        locks: Sequence[int] | None = None,
    ) -> list[tuple[int, int]]:
        """(key, lock) pairs that open and shall not; only these keys and locks where given."""
        words = np.asarray(bittings, dtype=np.int64).reshape(self.problem.keys, -1)
        here = np.zeros(self.problem.keys, dtype=bool)
        here[slice(None) if keys is None else list(keys)] = True
        found: list[tuple[int, int]] = []
        for number in range(len(self.problem.locks)) if locks is None else locks:
            lock = self.problem.locks[number]
            openers = [k for k in lock.openers if here[k]]
            inside = here & ~self._exempt[number] if openers else np.zeros_like(here)
            for p in lock.active:
                if not inside.any():
                    break
                inside &= self._zone(words[openers, p])[words[:, p]]
            found += [(int(key), number) for key in np.flatnonzero(inside)]
        return found

    def _zone(self, splits: NDArray[np.int64]) -> NDArray[np.bool_]:
        zone = np.zeros(self.problem.levels, dtype=bool)
        for split in set(splits.tolist()):
            zone[max(0, split - self._reach) : split + self._reach + 1] = True
        return zone

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
