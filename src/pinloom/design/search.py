"""Looks for a design of one problem with everything the engine has, and says how it ended.

Structure first: a few steps tell whether a chart is easy, and only structure gives a layout. Then
the complete part, where the chart is not too large for it, and both again with what is left of the
budget. Whatever is found is checked in full before it counts.
"""

from dataclasses import dataclass, replace

from pinloom.core.bitting import Bitting
from pinloom.core.job import Layout
from pinloom.design.check import Checker
from pinloom.design.crossed import crossed_words
from pinloom.design.exact import solve_exact
from pinloom.design.problem import DesignProblem
from pinloom.design.sat import Meter, Verdict
from pinloom.design.structured import PlanLimits, StructuredResult, solve_structured
from pinloom.design.watch import CONFLICTS, Watch

COMPLETE = 8_000  # key x lock pairs up to which the complete part is asked at all
SMALL = 800  # ... and up to which it goes first where no layout is wanted
GLANCE = 300  # steps of structure before it
CROSSED = 2_000  # conflicts of a try with crossed keys given
FIRST = 60_000  # conflicts of its first try


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
    if problem.keys * len(problem.locks) <= SMALL:
        crossed = _by_crossed_keys(problem, meter)
        if crossed.verdict is Verdict.SAT:
            return crossed
        answer = _complete(problem, meter, meter.left // 2, watch)
        if answer.verdict is not Verdict.UNKNOWN:
            return answer
    return find(problem, meter, watch, seed)


def find(problem: DesignProblem, meter: Meter, watch: Watch, seed: int = 0) -> Found:
    """A design, a proof that there is none, or the nearest miss when the meter ran out."""
    if problem.keys * len(problem.locks) > COMPLETE:
        return _build(problem, meter, meter.left // CONFLICTS, watch, seed)
    crossed = _by_crossed_keys(problem, meter)
    if crossed.verdict is Verdict.SAT:
        return crossed
    found = _build(problem, meter, min(GLANCE, meter.left // CONFLICTS), watch, seed)
    if found.verdict is Verdict.SAT:
        return found
    answer = _complete(problem, meter, min(FIRST, meter.left), watch)
    if answer.verdict is not Verdict.UNKNOWN or meter.left <= 0:
        return answer if answer.verdict is not Verdict.UNKNOWN else found
    found = _build(problem, meter, meter.left // 2 // CONFLICTS, watch, seed)
    if found.verdict is Verdict.SAT:
        return found
    answer = _complete(problem, meter, meter.left, watch)
    return found if answer.verdict is Verdict.UNKNOWN else answer


def _by_crossed_keys(problem: DesignProblem, meter: Meter) -> Found:
    """Keys that each are kept out of one lock which all the others open want a cut of their own
    that nobody shares (``bounds.crossed_keys``): so many to a position as fit, the rest of the key
    like everybody's. With these words given, the others are looked for.
    """
    words = crossed_words(problem)
    if len(words) <= problem.positions:
        return Found(verdict=Verdict.UNKNOWN)
    fixed = tuple(words.get(key, cuts) for key, cuts in enumerate(problem.fixed))
    part = meter.part(CROSSED)
    answer = solve_exact(replace(problem, fixed=fixed), part)
    meter.take(part.spent)
    if answer.verdict is Verdict.SAT and not Checker(problem).wrong(answer.bittings):
        return Found(verdict=Verdict.SAT, bittings=answer.bittings)
    return Found(verdict=Verdict.UNKNOWN)


def _complete(problem: DesignProblem, meter: Meter, conflicts: int, watch: Watch) -> Found:
    watch.doing("complete search")
    part = meter.part(conflicts)
    answer = solve_exact(problem, part)
    meter.take(part.spent)
    return Found(verdict=answer.verdict, bittings=answer.bittings)


def _build(problem: DesignProblem, meter: Meter, steps: int, watch: Watch, seed: int) -> Found:
    watch.doing("search by structure")
    result = solve_structured(problem, seed=seed, budget=steps, progress=watch.say)
    meter.take(result.steps * CONFLICTS)
    return _judge(problem, result)


def _judge(problem: DesignProblem, result: StructuredResult) -> Found:
    """Believe nothing that the check does not find right."""
    if result.bittings is None or Checker(problem).wrong(result.bittings):
        return Found(
            verdict=Verdict.UNKNOWN,
            best=result.best,
            wrong=result.wrong,
            limits=result.limits,
        )
    return Found(
        verdict=Verdict.SAT,
        bittings=result.bittings,
        layout=result.layout,
        limits=result.limits,
    )
