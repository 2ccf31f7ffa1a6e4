"""Looks for a design of one problem with everything the engine has, and says how it ended.

Small problems go to the complete part first, larger ones to the constructive part; each hands over
to the other with what is left of the budget. Whatever is found is checked in full before it counts.
"""

from dataclasses import dataclass

from pinloom.core.bitting import Bitting
from pinloom.core.job import Layout
from pinloom.design.check import Checker
from pinloom.design.exact import solve_exact
from pinloom.design.problem import DesignProblem
from pinloom.design.sat import Meter, Verdict
from pinloom.design.structured import PlanLimits, StructuredResult, solve_structured
from pinloom.design.watch import CONFLICTS, Watch

SMALL = 200  # key x lock pairs up to which the complete part goes first
COMPLETE = 8_000  # ... up to which it is asked at all
FIRST = 60_000  # conflicts of its first try
SHARE = 3  # a part of the budget goes to structure when the complete part may still answer


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


def find(problem: DesignProblem, meter: Meter, watch: Watch, seed: int = 0) -> Found:
    """A design, a proof that there is none, or the nearest miss when the meter ran out."""
    pairs = problem.keys * len(problem.locks)
    if pairs <= SMALL:
        found = _complete(problem, meter, min(FIRST, meter.left), watch)
        if found.verdict is not Verdict.UNKNOWN:
            return found
    share = meter.left // (SHARE if pairs <= COMPLETE else 1)
    built = _build(problem, meter, share // CONFLICTS, watch, seed)
    if built.verdict is Verdict.SAT or pairs > COMPLETE:
        return built
    found = _complete(problem, meter, meter.left, watch)
    return built if found.verdict is Verdict.UNKNOWN else found


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
