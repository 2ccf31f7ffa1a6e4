"""Small improvements of a design that is right: one key at a time gets its best bitting.

For one key, with all others as they are, the best bitting is found exactly, position by position.
What a cut in a position achieves is a set of *duties* done there:

- the key is kept out of a foreign lock (one duty for every such lock), and
- a key that one of its own locks refuses stays out although the lock now also splits on this cut
  (one duty for every such lock and key).

A bitting is right when its positions together do all duties (and obey the rules about single keys);
its price is a sum over positions. So the search walks the positions, cheapest cuts first, and
leaves a branch as soon as its price cannot beat the present one or some duty can no longer be done.
"""

from collections.abc import Iterable
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from pinloom.core.bitting import Bitting
from pinloom.core.job import Preference
from pinloom.design.preferences import figure
from pinloom.design.problem import DesignProblem
from pinloom.design.rules import Legal, given_whole

MOST_KEYS = 400  # of a chart that is polished at all
MOST_LOCKS = 40  # of a key that is moved
NODES = 400  # cuts looked at for one key
ROUNDS = 3
PRICED = (Preference.FEWEST_MASTER_PINS, Preference.FEWEST_INCIDENTAL_KEYS)


def is_polished(problem: DesignProblem, preference: Preference) -> bool:
    """Whether ``polish`` looks at a chart of this size by this preference at all."""
    return preference in PRICED and problem.keys <= MOST_KEYS


def polish(
    problem: DesignProblem,
    preference: Preference,
    bittings: tuple[Bitting, ...],
    movable: Iterable[int] | None = None,
) -> tuple[Bitting, ...]:
    """A design at least as good by the preference. Only master pins and combinations are priced;
    for other preferences the design comes back as it was.
    """
    if not is_polished(problem, preference):
        return bittings
    keys = sorted(set(range(problem.keys) if movable is None else movable))
    table = _Table(problem, preference, bittings)
    for _ in range(ROUNDS):
        if sum(table.improve(key) for key in keys) == 0:
            break
    return table.words


@dataclass(slots=True)
class _Duties:
    """Per position and level: price of the cut, duties it does as bits. ``all`` = every duty."""

    price: list[list[float]]
    done: list[list[int]]
    all: int


class _Table:
    def __init__(
        self, problem: DesignProblem, preference: Preference, bittings: tuple[Bitting, ...]
    ) -> None:
        self.problem, self.preference, self.words = problem, preference, bittings
        self.legal = Legal(problem)
        self.value = figure(problem, preference, bittings)
        self.own: list[list[int]] = [[] for _ in range(problem.keys)]
        self.reach = np.abs(np.subtract.outer(np.arange(problem.levels), np.arange(problem.levels)))
        self.array = np.asarray(bittings, dtype=np.int64)
        # used[l, p, v]: how many keys of lock l have level v in position p
        self.used = np.zeros((len(problem.locks), problem.positions, problem.levels), np.int64)
        self.active = np.zeros((len(problem.locks), problem.positions), dtype=bool)
        for number, lock in enumerate(problem.locks):
            self.active[number, list(lock.active)] = True
            for key in lock.openers:
                self.own[key].append(number)
                self._count(number, key, 1)

    def improve(self, key: int) -> bool:
        """Give one key its best bitting; True when the figure fell."""
        own = self.own[key]
        if not own or len(own) > MOST_LOCKS or given_whole(self.problem, key):
            return False
        if key >= self.problem.chart_keys:
            return False
        for number in own:
            self._count(number, key, -1)
        duties = self._duties(key)
        old = self.words[key]
        for number in own:
            self._count(number, key, 1)
        word = _Walk(self, key, duties, old).run()
        if word is None:
            return False
        words = (*self.words[:key], word, *self.words[key + 1 :])
        value = figure(self.problem, self.preference, words)
        if value >= self.value:
            return False
        for number in own:
            self._count(number, key, -1)
        self.words, self.value = words, value
        self.array[key] = word
        for number in own:
            self._count(number, key, 1)
        return True

    def _count(self, number: int, key: int, by: int) -> None:
        positions = np.arange(self.problem.positions)
        self.used[number, positions, self.array[key]] += by

    def _duties(self, key: int) -> _Duties:
        """For a key that is taken off its locks."""
        problem, step = self.problem, self.problem.least_step
        near = self.reach < step
        splits = self.used > 0
        zones = (splits @ near) | ~self.active[:, :, None]  # locks x positions x levels
        own = self.own[key]
        foreign = [
            n
            for n, lock in enumerate(problem.locks)
            if lock.openers and key not in lock.openers and key not in lock.outside
        ]
        price = self._prices(own)
        done = [[0] * problem.levels for _ in range(problem.positions)]
        pairs = [
            (place, k)
            for place, n in enumerate(own)
            for k in range(problem.keys)
            if k != key and k not in problem.locks[n].openers and k not in problem.locks[n].outside
        ]
        places = np.asarray([place for place, _ in pairs], dtype=np.int64)
        others = np.asarray([k for _, k in pairs], dtype=np.int64)
        for p in range(problem.positions):
            cuts = self.array[others, p]
            clear = ~zones[np.asarray(own)[places], p, cuts] if pairs else np.zeros(0, dtype=bool)
            for v in range(problem.levels):
                out = ~zones[foreign, p, v]
                held = clear & ~near[v, cuts] if pairs else clear
                done[p][v] = _bits(np.concatenate([out, held]))
        return _Duties(price=price, done=done, all=(1 << (len(foreign) + len(pairs))) - 1)

    def _prices(self, own: list[int]) -> list[list[float]]:
        """What each cut adds to the key's locks. For combinations the price is to first order: a
        level more in one position multiplies the combinations of the others.
        """
        problem = self.problem
        counts = (self.used[own] > 0).sum(axis=2)
        weight = np.asarray([problem.locks[n].cylinders for n in own], dtype=float)
        new = (self.used[own] == 0) & self.active[own][:, :, None] & (counts > 0)[:, :, None]
        rate = np.broadcast_to(weight[:, None], counts.shape)
        if self.preference is Preference.FEWEST_INCIDENTAL_KEYS:
            full = np.where(self.active[own], np.maximum(counts, 1), 1)
            rate = rate * (full.prod(axis=1)[:, None] / full)
        prices = (new * rate[:, :, None]).sum(axis=0)
        bad = self._unmade(own)
        return [
            [float("inf") if bad[p, v] else float(prices[p, v]) for v in range(problem.levels)]
            for p in range(problem.positions)
        ]

    def _unmade(self, own: list[int]) -> NDArray[np.bool_]:
        """Levels that a lock of the key cannot take: no such pin, or no pin more allowed."""
        problem = self.problem
        bad = np.zeros((problem.positions, problem.levels), dtype=bool)
        for number in own:
            for p in problem.locks[number].active:
                has = set(np.flatnonzero(self.used[number, p]).tolist())
                for v in range(problem.levels):
                    levels = sorted(has | {v})
                    steps = {b - a for a, b in zip(levels, levels[1:], strict=False)}
                    bad[p, v] |= len(levels) > problem.splits_most or not (
                        steps <= problem.pin_sizes
                    )
        return bad


@dataclass(slots=True)
class _Walk:
    """Branch and bound over the positions of one key."""

    table: _Table
    key: int
    duties: _Duties
    old: Bitting
    nodes: int = 0
    best: Bitting | None = None
    bound: float = 0.0
    cheapest: list[float] = field(default_factory=list)
    later: list[int] = field(default_factory=list)

    def run(self) -> Bitting | None:
        """A word that is right and cheaper than the old one, or None."""
        duties, count = self.duties, self.table.problem.positions
        self.bound = sum(duties.price[p][v] for p, v in enumerate(self.old)) - 1e-9
        self.cheapest, self.later = [0.0] * (count + 1), [0] * (count + 1)
        for p in range(count - 1, -1, -1):
            self.cheapest[p] = self.cheapest[p + 1] + min(duties.price[p])
            merged = 0
            for bits in duties.done[p]:
                merged |= bits
            self.later[p] = self.later[p + 1] | merged
        if self.cheapest[0] < self.bound:
            self._go((), 0, 0.0)
        return self.best

    def _go(self, word: Bitting, done: int, price: float) -> None:
        p = len(word)
        if p == self.table.problem.positions:
            if self._fits(word):
                self.best, self.bound = word, price - 1e-9
            return
        row = self.duties.price[p]
        for v in sorted(range(len(row)), key=lambda v: (row[v], v != self.old[p], v)):
            self.nodes += 1
            if self.nodes > NODES or price + row[v] + self.cheapest[p + 1] >= self.bound:
                return
            if word and abs(word[-1] - v) > self.table.problem.macs:
                continue
            now = done | self.duties.done[p][v]
            if now | self.later[p + 1] == self.duties.all:
                self._go((*word, v), now, price + row[v])

    def _fits(self, word: Bitting) -> bool:
        return word not in self.table.words and self.table.legal.allows(self.key, word)


def _bits(flags: NDArray[np.bool_]) -> int:
    return int.from_bytes(np.packbits(flags, bitorder="little").tobytes(), "little")
