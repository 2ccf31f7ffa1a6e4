"""Looks for a design of one problem with everything the engine has, and says how it ended.

1. Structure first where the chart has a key tree: a few steps tell whether it is easy, and only
   structure gives a layout (``structured``).
2. Few keys: a cut of its own for every key (``owncuts``).
3. In turn, each for a slice that grows from round to round: repair cut by cut (``cutwise``), from
   the nearest design so far; the complete part (``exact``), where the chart is not too large for
   it; structure again, where there is a tree; where few openings are wrong, a few keys at once cut
   anew by the solver (``neighbourhoods``). On the smallest charts the complete part goes first.

Slices are counted, never timed. Whatever is found is checked in full before it counts.
"""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from itertools import compress

from pinloom.core.bitting import Bitting
from pinloom.core.job import Layout
from pinloom.design.check import Checker
from pinloom.design.crossed import crossed_words
from pinloom.design.cutwise import MOVES, Cutwise
from pinloom.design.exact import Exact, solve_exact
from pinloom.design.inference import infer_tree
from pinloom.design.layouts import shape_of
from pinloom.design.neighbourhoods import Neighbourhoods
from pinloom.design.owncuts import own_cuts
from pinloom.design.problem import DesignProblem
from pinloom.design.sat import Meter, Sat, Verdict
from pinloom.design.starts import begin
from pinloom.design.structured import PlanLimits, solve_structured
from pinloom.design.symbols import symbol_space
from pinloom.design.watch import CONFLICTS, Watch

TINY = 250  # key x lock pairs up to which the complete part goes first
COMPLETE = 8_000  # ... up to which it is asked at all
CUTWISE = 20_000_000  # ... up to which single cuts are repaired
LIGHT = 2_000  # ... up to which it gets as much as the others; beyond it hardly ever ends
ASIDE = 100  # steps of it in a round beyond that
FEW = 30  # wrong openings up to which a few keys at once are cut anew
ONCE = 10  # they get one step of so many
AWAY, AWAY_TIMES = 30, 10  # wrong openings, and so many for each of the best, that are too far
TREE = 4  # a chart has a tree when one key in so many has a place in it
GLANCE = 300  # steps of structure before all else
OPENING = 1_000  # ... on charts too large for the complete part
CROSSED = 2_000  # moves, then conflicts, of a try with crossed keys given
ROUNDS = (500, 2_000, 5_000)  # steps of the first slices of each; then all that is left


@dataclass(frozen=True, slots=True, kw_only=True)
class Found:
    """SAT: ``bittings`` is a design. UNSAT: there is none. UNKNOWN: ``best`` is the nearest seen,
    ``wrong`` its (key, lock) pairs.
    """

    verdict: Verdict
    bittings: tuple[Bitting, ...] = ()
    layout: Layout | None = None
    best: tuple[Bitting, ...] | None = None
    wrong: tuple[tuple[int, int], ...] = ()
    limits: PlanLimits | None = None


def find_any(problem: DesignProblem, meter: Meter, watch: Watch, seed: int = 0) -> Found:
    """The same as ``find``, where any design will do and a layout is not wanted."""
    return _Search(problem, meter, watch, seed, layout=False).run()


def find(problem: DesignProblem, meter: Meter, watch: Watch, seed: int = 0) -> Found:
    """A design, a proof that there is none, or the nearest miss when the meter ran out."""
    return _Search(problem, meter, watch, seed, layout=True).run()


class _Search:
    def __init__(
        self, problem: DesignProblem, meter: Meter, watch: Watch, seed: int, *, layout: bool
    ) -> None:
        self._problem, self._meter, self._watch, self._seed = problem, meter, watch, seed
        pairs = problem.keys * len(problem.locks)
        self._tiny, self._light, self._small = pairs <= TINY, pairs <= LIGHT, pairs <= COMPLETE
        self._tree = not self._small or _has_tree(problem)
        self._structure_first = self._tree and (layout or not self._small)
        self._repairs = pairs <= CUTWISE
        self._checker = Checker(problem)
        self._best = Found(verdict=Verdict.UNKNOWN)
        self._cutwise: Cutwise | None = None
        self._begun = 0
        self._mender: Neighbourhoods | None = None
        self._sat: Sat | None = None
        self._exact: Exact | None = None

    def run(self) -> Found:
        """Ask one part after the other."""
        try:
            for found in self._tries():
                if found.verdict is not Verdict.UNKNOWN:
                    return replace(found, limits=self._best.limits)
                if self._meter.left <= 0:
                    break
        finally:
            if self._sat is not None:
                self._sat.close()
        return self._best

    def _tries(self) -> Iterator[Found]:
        if self._small:
            yield _by_crossed_keys(self._problem, self._meter)
        if self._structure_first:
            yield self._build(GLANCE if self._small else OPENING)
        yield self._by_own_cuts()
        if self._tiny:
            yield self._complete(ROUNDS[0])
        for number, steps in enumerate(ROUNDS):
            yield from self._round(steps, build=number > 0)
        while True:
            yield from self._round(max(1, self._meter.left // (2 * CONFLICTS)), build=True)

    def _round(self, steps: int, *, build: bool) -> Iterator[Found]:
        if self._repairs:
            yield self._repair(steps)
        if self._small:
            yield self._complete(steps if self._light else min(steps, ASIDE))
        if (self._tree and build) or not (self._repairs or self._small):
            yield self._build(2 * steps)
        if 0 < len(self._best.wrong) <= FEW:
            yield self._mend(steps // ONCE)

    # -- parts --------------------------------------------------------------------------------

    def _by_own_cuts(self) -> Found:
        words = own_cuts(self._problem)
        if words is None:
            return Found(verdict=Verdict.UNKNOWN)
        self._meter.take(1)
        return Found(verdict=Verdict.SAT, bittings=words)

    def _build(self, steps: int) -> Found:
        self._watch.doing("search by structure")
        steps = min(steps, self._meter.left // CONFLICTS)
        result = solve_structured(
            self._problem, seed=self._seed, budget=steps, progress=self._watch.say
        )
        self._meter.take(max(1, result.steps) * CONFLICTS)
        if self._best.limits is None:
            self._best = replace(self._best, limits=result.limits)
        if result.bittings is not None and not self._checker.wrong(result.bittings):
            return Found(verdict=Verdict.SAT, bittings=result.bittings, layout=result.layout)
        if result.best is not None:
            self._keep(result.best, result.wrong, result.layout)
            if self._cutwise is not None and len(result.wrong) < self._cutwise.best_wrong:
                self._cutwise = None
        return Found(verdict=Verdict.UNKNOWN)

    def _repair(self, steps: int) -> Found:
        """Single cuts, from the nearest design. Goes on where it stood, unless a nearer design was
        found elsewhere or its weights have driven it far from its best; then it begins anew there.
        """
        self._watch.doing("repair cut by cut")
        search = self._cutwise
        if search is None or search.wrong_now() > AWAY + AWAY_TIMES * search.best_wrong:
            self._begun += 1
            seed = self._seed * 1_000 + self._begun
            self._cutwise = begin(self._problem, seed, self._best.best)
        search = self._cutwise
        if search is None:
            self._repairs = False
            return Found(verdict=Verdict.UNKNOWN)
        before = search.moves
        search.run(min(steps * MOVES, self._meter.left * MOVES // CONFLICTS))
        self._meter.take(max(1, (search.moves - before) * CONFLICTS // MOVES))
        bittings = search.bittings()
        if search.best_wrong == 0:
            if not self._checker.wrong(bittings):
                return Found(verdict=Verdict.SAT, bittings=bittings, layout=self._best.layout)
            self._repairs = False
        self._keep(bittings, tuple(self._checker.opens(bittings)), self._best.layout)
        return Found(verdict=Verdict.UNKNOWN)

    def _mend(self, steps: int) -> Found:
        """A few keys at once, in the nearest design. Goes on where it stood until another design
        is nearer. What it mends is where the others go on.
        """
        self._watch.doing("a few keys at once")
        best = self._best.best
        assert best is not None, "wrong openings are those of a design"
        if self._mender is None or self._mender.bittings != best:
            space = symbol_space(self._problem)
            levels = [
                list(compress(*rows)) for rows in zip(space.levels, space.regular, strict=True)
            ]
            self._mender = Neighbourhoods(self._problem, best, self._seed, levels)
        mender, part = self._mender, self._meter.part(steps * CONFLICTS)
        mender.run(part)
        self._meter.take(max(1, part.spent))
        if not mender.wrong and not self._checker.wrong(mender.bittings):
            return Found(verdict=Verdict.SAT, bittings=mender.bittings, layout=self._best.layout)
        if mender.bittings != best:
            self._keep(mender.bittings, tuple(mender.wrong), self._best.layout)
            self._cutwise = None
        return Found(verdict=Verdict.UNKNOWN)

    def _complete(self, steps: int) -> Found:
        self._watch.doing("complete search")
        if self._exact is None:
            self._sat = Sat()
            self._exact = Exact(self._problem, self._sat)
        part = self._meter.part(steps * CONFLICTS)
        answer = self._exact.solve(part)
        self._meter.take(part.spent)
        return Found(verdict=answer.verdict, bittings=answer.bittings)

    def _keep(
        self,
        bittings: tuple[Bitting, ...],
        wrong: tuple[tuple[int, int], ...],
        layout: Layout | None,
    ) -> None:
        """Remember the nearest design; single cuts are then repaired from there. One without a
        wrong opening has other faults, so anything with few wrong openings is nearer.
        """
        known = self._best
        if known.best is not None and (not wrong or 0 < len(known.wrong) <= len(wrong)):
            return
        self._best = replace(self._best, best=bittings, wrong=wrong, layout=layout)


def _has_tree(problem: DesignProblem) -> bool:
    return shape_of(infer_tree(problem)).size() * TREE >= problem.keys


def _by_crossed_keys(problem: DesignProblem, meter: Meter) -> Found:
    """Keys that each are kept out of one lock which all the others open want a cut of their own
    that nobody shares (``bounds.crossed_keys``): so many to a position as fit, the rest of the key
    like everybody's. With these words given, the others are looked for.
    """
    words = crossed_words(problem)
    if len(words) <= problem.positions:
        return Found(verdict=Verdict.UNKNOWN)
    fixed = tuple(words.get(key, cuts) for key, cuts in enumerate(problem.fixed))
    problem = replace(problem, fixed=fixed)
    quick = begin(problem, 0)
    if quick is not None and quick.run(CROSSED):
        meter.take(max(1, quick.moves * CONFLICTS // MOVES))
        if not Checker(problem).wrong(quick.bittings()):
            return Found(verdict=Verdict.SAT, bittings=quick.bittings())
    part = meter.part(CROSSED)
    answer = solve_exact(problem, part)
    meter.take(part.spent)
    if answer.verdict is Verdict.SAT and not Checker(problem).wrong(answer.bittings):
        return Found(verdict=Verdict.SAT, bittings=answer.bittings)
    return Found(verdict=Verdict.UNKNOWN)
