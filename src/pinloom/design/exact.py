"""The complete part: a design, or a proof that there is none, over all depths of the format.

Separations are added on demand: solve, look at the model with a plain eye (``check.Checker``), add
what is wrong, solve again. The loop ends because there are finitely many pairs to add. UNSAT of a
part of the true constraints is UNSAT of all; a model is only believed after the check found
nothing.

Budgets are conflicts of the solver, spent in slices (``sat``).
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from pinloom.core.bitting import Bitting
from pinloom.design.check import Checker
from pinloom.design.encoding import Encoding, Levels
from pinloom.design.problem import DesignProblem
from pinloom.design.rules import foreign_zones
from pinloom.design.sat import Meter, Sat, Verdict

EAGER = 6_000  # key x lock pairs up to which all separations are written at once


@dataclass(frozen=True, slots=True, kw_only=True)
class Answer:
    """What the complete part says. ``bittings`` only with SAT."""

    verdict: Verdict
    bittings: tuple[Bitting, ...] = ()


class Exact:
    """One problem held in a solver, to be asked several times."""

    def __init__(
        self,
        problem: DesignProblem,
        sat: Sat,
        *,
        selectors: bool = False,
        symmetry: bool = True,
        margin: tuple[int, int] | None = None,
        held: Mapping[int, Bitting] | None = None,
        levels: Levels | None = None,
        tolerated: Iterable[tuple[int, int]] = (),
    ) -> None:
        """``margin`` (chambers, steps): so many positions at least must keep a key out, and one of
        them by so many steps. None: one position, by the least step. ``held`` = cuts of keys that
        keep them, ``levels`` = those of the others by position; ``tolerated`` = (key, lock) that
        may open all the same.
        """
        self.problem = problem
        symmetry = symmetry and not held
        self.encoding = Encoding(
            problem, sat, selectors=selectors, symmetry=symmetry, held=held, levels=levels
        )
        self.sat = sat
        self._checker = Checker(problem)
        self._margin = margin or (1, problem.least_step)
        self._separated: set[tuple[int, int]] = set(tolerated)
        self._differ: set[tuple[int, int]] = set()
        self._zones = foreign_zones(problem)
        if not held and (margin is not None or problem.keys * len(problem.locks) <= EAGER):
            self._separate_all()

    def solve(self, meter: Meter, assumptions: tuple[int, ...] = ()) -> Answer:
        """A model that the checker accepts, UNSAT, or UNKNOWN when the meter ran out.

        With selectors on, keys and locks that the assumptions leave out are not checked.
        """
        chosen = frozenset(assumptions)
        while True:
            verdict = self.sat.solve(meter, assumptions)
            if verdict is not Verdict.SAT:
                return Answer(verdict=verdict)
            bittings = self.encoding.bittings()
            if not self._refine(bittings, chosen):
                return Answer(verdict=verdict, bittings=bittings)

    def _separate_all(self) -> None:
        for number, lock in enumerate(self.problem.locks):
            if not lock.openers:
                continue
            for key in sorted(set(range(self.problem.keys)) - {*lock.openers, *lock.outside}):
                self._separate(key, number)

    def _separate(self, key: int, number: int) -> bool:
        if (key, number) in self._separated:
            return False
        self._separated.add((key, number))
        chambers, steps = self._margin
        self.encoding.separate(key, number, chambers, self.problem.least_step)
        if steps > self.problem.least_step:
            self.encoding.separate(key, number, 1, steps)
        return True

    def _on(self, chosen: frozenset[int], key: int) -> bool:
        return not self.encoding.key_on or self.encoding.key_on[key] in chosen

    def _refine(self, bittings: tuple[Bitting, ...], chosen: frozenset[int]) -> bool:
        """Add what the model gets wrong; False when nothing is."""
        encoding, added = self.encoding, False
        for key, number in self._opens(bittings, chosen):
            added |= self._separate(key, number)
        by_word: dict[Bitting, list[int]] = {}
        for key, word in enumerate(bittings):
            if self._on(chosen, key):
                by_word.setdefault(word, []).append(key)
        for word, keys in by_word.items():
            for i, a in enumerate(keys):
                for b in keys[i + 1 :]:
                    encoding.differ(a, b)
                    added = True
            if word in self._checker.legal.avoided:
                for key in keys:
                    encoding.shun(key, word)
                    added = True
            added |= self._refuse_foreign(word, keys)
        return added

    def _refuse_foreign(self, word: Bitting, keys: list[int]) -> bool:
        added = False
        for index, zone in enumerate(self._zones):
            if all(zone[p, v] for p, v in enumerate(word)):
                for key in keys:
                    self.encoding.shun_foreign(key, index)
                    added = True
        return added

    def _opens(
        self, bittings: tuple[Bitting, ...], chosen: frozenset[int]
    ) -> list[tuple[int, int]]:
        if not self.encoding.key_on:
            return self._checker.opens(bittings)
        return self._checker.opens(
            bittings,
            keys=[k for k in range(self.problem.keys) if self._on(chosen, k)],
            locks=[n for n in range(len(self.problem.locks)) if self.encoding.lock_on[n] in chosen],
        )


def solve_exact(problem: DesignProblem, meter: Meter, *, symmetry: bool = True) -> Answer:
    """One question, one answer."""
    with Sat() as sat:
        return Exact(problem, sat, symmetry=symmetry).solve(meter)
