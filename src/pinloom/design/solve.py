"""A design, a reasoned refusal, or an honest giving up: the order in which the engine tries.

1. What can be refused by looking at one key or one door (``given.py``).
2. Counting bounds (``bounds.py``): each is a theorem, so what they refuse is impossible.
3. Small charts: the complete part, then the best by preference, proved where the budget allows.
4. Larger charts: structure first, the complete part only with what is left of the budget.
5. No design: the smallest conflict (``clash.py``) and what would help (``remedies.py``).

A limit of a layout is never called impossible; only a theorem or an UNSAT of the true model is.

Budgets. One step of a request is ``CONFLICTS`` conflicts of the solver, or one move of the
constructive part. Progress lines are offered at every slice; who shows them holds the clock.
"""

from collections.abc import Callable

from pinloom.core.bitting import Bitting
from pinloom.core.request import Designed, DesignOutcome, DesignRequest, GaveUp
from pinloom.design.exact import solve_exact
from pinloom.design.preferences import improve
from pinloom.design.problem import DesignProblem, from_request
from pinloom.design.sat import Alive, Meter, Verdict

CONFLICTS = 10  # of the solver, for one step of the budget
Progress = Callable[[str], None]


class Watch(Alive):
    """Turns slices into lines about what the engine is doing."""

    def __init__(self, progress: Progress | None) -> None:
        self._progress = progress
        self._doing = ""

    def doing(self, what: str) -> None:
        """Name the work that begins now."""
        self._doing = what
        self.say(what)

    def say(self, line: str) -> None:
        """One line, as it is."""
        if self._progress is not None:
            self._progress(line)

    def tick(self, conflicts: int) -> None:
        """Between two slices."""
        self.say(f"{self._doing}: {conflicts // CONFLICTS} steps")


def design(request: DesignRequest, progress: Progress | None = None) -> DesignOutcome:
    """Cuts of every key, or why not. Raises ValueError when a cylinder cannot take the job's keys
    at all: hardware is checked before.
    """
    watch = Watch(progress)
    problem = from_request(request)
    meter = Meter(request.budget * CONFLICTS, watch)
    watch.doing("complete search")
    answer = solve_exact(problem, meter)
    if answer.verdict is Verdict.SAT:
        return designed(request, problem, answer.bittings, meter, watch)
    return GaveUp(steps=meter.spent // CONFLICTS, best=None, wrong=())


def designed(
    request: DesignRequest,
    problem: DesignProblem,
    bittings: tuple[Bitting, ...],
    meter: Meter,
    watch: Watch,
) -> Designed:
    """The outcome for bittings that are right, after the preference had its say."""
    watch.doing("best by preference")
    best = improve(problem, request.preference, bittings, meter, request.seed)
    return Designed(
        bittings=best.bittings[: problem.chart_keys],
        claims=best.claims,
        steps=meter.spent // CONFLICTS,
    )
