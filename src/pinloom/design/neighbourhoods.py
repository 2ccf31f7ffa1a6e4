"""Repair by neighbourhoods: a few keys are cut anew at once, all others keep their cuts.

Theory of operation. Moves of a single key or cut stand still where a wrong opening ends only when
several keys move together. So take one wrong opening: the key that opens and the keys of the lock
are *freed*, all others are *held*, and the solver is asked for cuts of the freed keys with which
this opening has gone and no other has come. The formula is that of whole charts (``exact``,
``encoding``) with the cuts of the held keys put in as constants, so its size is that of the
neighbourhood: pairs of a held key and a lock that only held keys open are never written, all others
when a model gets them wrong. Other openings that are wrong already are tolerated: every answer
is nearer than the design it began with, and the last one is a design.

Growth. "No" means that the neighbourhood is too small: it grows by the keys that hem it in, those
at the other end of pairs that a single chamber keeps apart. It does not grow beyond ``MOST`` keys;
there, or when the solver's conflicts are spent, the next wrong opening is taken.

Keys of many locks are held: to cut them anew is to open half of the chart again. In the search,
freed keys take cuts from the symbols of the space (``symbols``), where cut by cut repair can take
the design up again; "no" then speaks of these cuts only. ``complete`` without levels speaks of all.

What it is worth. It mends a sound design in which some keys were cut wrongly. On charts of the
bench cut by cut repair mends more in the same time, and nothing was designed that was not before;
so it gets a small share of a search (decision 11).

All choices come from one seeded generator, conflicts and clauses are counted: a run repeats.
"""

import random
from collections.abc import Collection, Sequence

import numpy as np
from numpy.typing import NDArray

from pinloom.core.bitting import Bitting
from pinloom.design.check import Checker
from pinloom.design.encoding import Levels
from pinloom.design.exact import Answer, Exact
from pinloom.design.problem import DesignProblem, given_levels, locks_of
from pinloom.design.sat import Meter, Sat, Verdict

FIRST, MOST = 6, 20  # keys freed in the first round and in the last
GROWTH = 2  # how many times more in the next round
BIG = 60  # keys of more locks are held
ASK = 400  # conflicts for one question
CLAUSES = 20  # cost as much as one conflict, as does each key of the chart

Pair = tuple[int, int]


def complete(
    problem: DesignProblem,
    design: Sequence[Bitting],
    free: Collection[int],
    meter: Meter,
    *,
    tolerated: Collection[Pair] = (),
    levels: Levels | None = None,
) -> Answer:
    """Cuts of the ``free`` keys with which nothing is wrong but ``tolerated`` (key, lock) pairs;
    the others stay as in ``design``. SAT: the bittings of all keys. UNSAT: there are no such cuts,
    of ``levels`` by position where given. Faults of held keys and of stacks without a free key are
    taken as they are.
    """
    held = {key: tuple(word) for key, word in enumerate(design) if key not in set(free)}
    with Sat() as sat:
        exact = Exact(problem, sat, held=held, levels=levels, tolerated=tolerated)
        wishes = []
        for key in sorted(set(free)):
            for p, row in enumerate(exact.encoding.cut[key]):
                wishes += [x if v == design[key][p] else -x for v, x in enumerate(row)]
        sat.lean(wishes)
        answer = exact.solve(meter)
        meter.take(problem.keys + sat.clauses // CLAUSES)
    return answer


class Neighbourhoods:
    """Mends one design after the other. ``run`` may be called again with more budget.

    ``bittings`` = the design so far, ``wrong`` = its wrong openings.
    """

    def __init__(
        self,
        problem: DesignProblem,
        start: Sequence[Bitting],
        seed: int,
        levels: Levels | None = None,
    ) -> None:
        self._problem, self._levels = problem, levels
        self._rng = random.Random(f"neighbourhoods {seed}")  # noqa: S311 (a search, no secret)
        self._checker = Checker(problem)
        self._own = locks_of(problem)
        self._movable = [
            len(own) <= BIG and given_levels(problem, key) is None
            for key, own in enumerate(self._own)
        ]
        self.asked = 0
        self._take(tuple(tuple(word) for word in start))

    def _take(self, bittings: tuple[Bitting, ...]) -> None:
        self.bittings = bittings
        self.wrong: list[Pair] = self._checker.opens(bittings)
        self._left: list[Pair] = []

    def run(self, meter: Meter) -> bool:
        """Mend while the meter lasts; True when no opening is wrong any more."""
        while self.wrong and meter.left > 0:
            if not self._left:
                self._left = self._rng.sample(self.wrong, len(self.wrong))
            self._mend(self._left.pop(), meter)
        return not self.wrong

    def _mend(self, pair: Pair, meter: Meter) -> None:
        """Try to end one wrong opening."""
        tolerated = [other for other in self.wrong if other != pair]
        key, lock = pair
        around = [k for k in self._problem.locks[lock].openers if self._movable[k]]
        free = [key] if self._movable[key] else []
        free += self._rng.sample(around, min(len(around), FIRST - len(free)))
        while free and meter.left > 0:
            part = meter.part(ASK)
            answer = complete(
                self._problem,
                self.bittings,
                free,
                part,
                tolerated=tolerated,
                levels=self._levels,
            )
            self.asked += 1
            meter.take(max(1, part.spent))
            if answer.verdict is Verdict.SAT:
                self._take(answer.bittings)
                return
            if answer.verdict is Verdict.UNKNOWN or len(free) >= MOST:
                return
            more = self._beside(free, min(MOST, GROWTH * len(free)) - len(free))
            if not more:
                return
            free += more

    def _beside(self, free: list[int], count: int) -> list[int]:
        """Keys that hem the freed ones in most, ties at random."""
        score = self._narrow(free)
        among = [k for k, ok in enumerate(self._movable) if ok and k not in set(free)]
        self._rng.shuffle(among)
        return sorted(among, key=lambda k: -score[k])[:count]

    def _narrow(self, free: list[int]) -> NDArray[np.int64]:
        """Per key, the pairs with a freed one that a single chamber keeps apart."""
        problem = self._problem
        words = np.asarray(self.bittings)
        score = np.zeros(problem.keys, dtype=np.int64)
        touched = {lock for key in free for lock in self._own[key]}
        for number, lock in enumerate(problem.locks):
            if not lock.openers:
                continue
            some = words if number in touched else words[free]
            apart = np.zeros(len(some), dtype=np.int64)
            for p in lock.active:
                splits = np.unique(words[list(lock.openers), p])
                near = np.abs(some[:, p, None] - splits[None, :]) < problem.least_step
                apart += ~near.any(axis=1)
            narrow = apart == 1
            if number in touched:
                score += narrow
                narrow = narrow[free]
            score[list(lock.openers)] += int(narrow.sum())
        return score
