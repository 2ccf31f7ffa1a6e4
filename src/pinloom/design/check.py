"""Looks at a set of bittings and says what is wrong with it; the engine's own quick eye.

The proof of a job is made elsewhere from pins and cuts. This one works on levels, on whole arrays,
to steer a search.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import chain, pairwise

import numpy as np
from numpy.typing import NDArray

from pinloom.core.bitting import Bitting
from pinloom.design.problem import DesignProblem
from pinloom.design.rules import Legal, forces, required

Words = NDArray[np.uint64]
BLOCK = 256  # locks at once, so that their rows stay in the processor's cache


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


def _packed(marks: NDArray[np.bool_]) -> Words:
    """Marks as bits in whole words of 64, along the last axis."""
    padded = np.zeros((*marks.shape[:-1], -(-marks.shape[-1] // 64) * 64), dtype=np.bool_)
    padded[..., : marks.shape[-1]] = marks
    return np.packbits(padded, axis=-1).view(np.uint64)


class Checker:
    """Checks many sets of bittings for one problem.

    The levels of a lock in a position are one number, a bit a level. Locks with equal numbers let
    the same keys pass there, so such rows of keys are made once for each number; the row of a lock
    is the AND over its positions, a block of locks at a time.
    """

    def __init__(self, problem: DesignProblem, *, least_step: int | None = None) -> None:
        self.problem = problem
        self.legal = Legal(problem)
        self._reach = (problem.least_step if least_step is None else least_step) - 1

    @cached_property
    def _openers(self) -> "_Openers":
        return _Openers.of(self.problem, range(len(self.problem.locks)))

    def opens(
        self,
        bittings: tuple[Bitting, ...],
        keys: Sequence[int] | None = None,
        locks: Sequence[int] | None = None,
    ) -> list[tuple[int, int]]:
        """(key, lock) pairs that open and shall not; only these keys and locks where given."""
        problem = self.problem
        words = np.asarray(bittings, dtype=np.int64).reshape(problem.keys, problem.positions)
        here = np.zeros(problem.keys, dtype=np.bool_)
        here[slice(None) if keys is None else list(keys)] = True
        openers = self._openers if locks is None else _Openers.of(problem, locks)
        if not openers.locks:
            return []
        cuts = openers.cuts(words, here)
        own = openers.counts(here)
        near, asked = self._near(words), _packed(here)
        rows, numbers = [], []
        for p in range(problem.positions):
            kinds, number = np.unique(cuts[:, p], return_inverse=True)
            rows.append(_rows(kinds, near[p]))
            numbers.append(number)
        found: list[tuple[int, int]] = []
        for start in range(0, len(openers.locks), BLOCK):
            span = slice(start, start + BLOCK)
            inside = rows[0][numbers[0][span]] & asked
            for row, number in zip(rows[1:], numbers[1:], strict=True):
                inside &= row[number[span]]
            # A lock's own keys are inside; only where there are more is there anything to tell.
            more = np.bitwise_count(inside).sum(axis=1) > own[span]
            more &= own[span] > 0  # no key here, no box
            for index in np.flatnonzero(more).tolist():
                found += self._strangers(openers.locks[start + index], inside[index])
        return found

    def _strangers(self, number: int, inside: Words) -> list[tuple[int, int]]:
        lock = self.problem.locks[number]
        mine = lock.outside.union(lock.openers)
        marks = np.unpackbits(inside.view(np.uint8), count=self.problem.keys)
        return [(key, number) for key in np.flatnonzero(marks).tolist() if key not in mine]

    def _near(self, words: NDArray[np.int64]) -> Words:
        """Keys as bits, per position and level: those whose cut is within reach of the level."""
        level = np.arange(self.problem.levels)[:, None]
        return _packed(np.abs(words.T[:, None, :] - level) <= self._reach)

    def wrong(self, bittings: tuple[Bitting, ...]) -> Wrong:
        """Everything that does not hold."""
        return Wrong(
            opens=tuple(self.opens(bittings)),
            twins=tuple(twins(bittings)),
            stacks=tuple(self._stacks(bittings)),
            keys=tuple(k for k in self._doubtful(bittings) if self.legal.breaks(k, bittings[k])),
        )

    def _doubtful(self, bittings: tuple[Bitting, ...]) -> Sequence[int]:
        """Keys that may break a rule about a single key, ascending: all of them where the job asks
        for more than MACS; else those that break it, are cut all alike, have given cuts or are
        control keys.
        """
        problem = self.problem
        more = {name for name in forces(required(problem.rules)) if name != "not_all_equal"}
        if more or problem.avoid or problem.avoid_stacks:
            return range(problem.keys)
        words = np.asarray(bittings, dtype=np.int64).reshape(problem.keys, -1)
        doubtful = (np.abs(np.diff(words, axis=1)) > problem.macs).any(axis=1)
        doubtful |= (words == words[:, :1]).all(axis=1)
        doubtful |= np.array([fixed is not None for fixed in problem.fixed], dtype=np.bool_)
        doubtful[problem.chart_keys :] = True
        return np.flatnonzero(doubtful).tolist()

    def _stacks(self, bittings: tuple[Bitting, ...]) -> list[tuple[int, int]]:
        """Chambers with pins that are not made or too many, or that no build-up pin would fill."""
        openers, problem = self._openers, self.problem
        if not openers.locks:
            return []
        words = np.asarray(bittings, dtype=np.int64).reshape(problem.keys, -1)
        cuts = openers.cuts(words, np.ones(problem.keys, dtype=np.bool_))
        kinds, number = np.unique(cuts, return_inverse=True)
        unmade = np.array([self._unmade(int(kind)) for kind in kinds])
        found = [
            (openers.locks[lock], p)
            for lock, p in np.argwhere(unmade[number].reshape(cuts.shape)).tolist()
        ]
        return found + self._builds(bittings)

    def _unmade(self, bits: int) -> bool:
        levels = [level for level in range(self.problem.levels) if bits >> level & 1]
        steps = {b - a for a, b in pairwise(levels)}
        return not steps <= self.problem.pin_sizes or len(levels) - 1 > self.problem.max_masters

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


@dataclass(frozen=True, slots=True, kw_only=True)
class _Openers:
    """The keys of some locks, one lock after another; locks without keys are left out. ``starts`` =
    where each lock's keys begin, ``active`` = locks x positions.
    """

    locks: tuple[int, ...]
    keys: NDArray[np.intp]
    starts: NDArray[np.intp]
    active: NDArray[np.bool_]

    @staticmethod
    def of(problem: DesignProblem, locks: Sequence[int]) -> "_Openers":
        """The keys of these locks. Levels are bits of a number of 64."""
        assert problem.levels < 63, "no cylinder has so many depths"
        used = tuple(n for n in locks if problem.locks[n].openers)
        rows = [problem.locks[n].openers for n in used]
        lengths = np.fromiter(map(len, rows), dtype=np.intp, count=len(rows))
        kinds = {problem.locks[n].active: None for n in used}
        every = np.arange(problem.positions)
        active = {kind: np.isin(every, kind) for kind in kinds}
        return _Openers(
            locks=used,
            keys=np.fromiter(chain.from_iterable(rows), dtype=np.intp, count=int(lengths.sum())),
            starts=np.cumsum(lengths) - lengths,
            active=np.array([active[problem.locks[n].active] for n in used], dtype=np.bool_),
        )

    def cuts(self, words: NDArray[np.int64], here: NDArray[np.bool_]) -> NDArray[np.int64]:
        """Per lock and position the levels of its keys that are here, a bit a level; none where
        the lock has no pins.
        """
        bits = np.where(here[:, None], np.int64(1) << words, 0)
        found = np.bitwise_or.reduceat(bits[self.keys], self.starts, axis=0)
        return np.where(self.active, found, 0)

    def counts(self, here: NDArray[np.bool_]) -> NDArray[np.intp]:
        """Per lock, how many of its keys are here."""
        return np.add.reduceat(here[self.keys].astype(np.intp), self.starts)


def _rows(kinds: NDArray[np.int64], near: Words) -> Words:
    """Per set of levels the keys that pass it; all of them where there are no pins."""
    rows = np.zeros((len(kinds), near.shape[1]), dtype=np.uint64)
    for level, row in enumerate(near):
        rows[kinds >> level & 1 == 1] |= row
    rows[kinds == 0] = np.iinfo(np.uint64).max
    return rows


def twins(bittings: tuple[Bitting, ...]) -> list[tuple[int, int]]:
    """Pairs of neighbours among keys with one and the same bitting."""
    seen: dict[Bitting, int] = {}
    found = []
    for key, word in enumerate(bittings):
        if word in seen:
            found.append((seen[word], key))
        seen[word] = key
    return found
