"""A design, a reasoned refusal, or an honest giving up: the order in which the engine tries.

1. What can be refused by looking at what is given (``given``).
2. Counting bounds (``bounds``): each is a theorem, so what they refuse is impossible.
3. The search: complete on small charts, structure first on large ones (``search``).
4. A design: the best by preference, proved where the chart is small enough (``refine``).
5. No design: the smallest conflict (``clash``) and what would help (``remedies``).

A limit of a layout is never called impossible; only a theorem or an UNSAT of the true model is.

Budgets. A step is one key scored by the constructive part, ten moves of a single cut, or ten
conflicts of the solver. The search may spend the request's steps; refining a design and explaining
a refusal have as many again.
"""

from dataclasses import replace

from pinloom.core.findings import Finding, note
from pinloom.core.job import ControlKey
from pinloom.core.request import (
    Designed,
    DesignOutcome,
    DesignRequest,
    GaveUp,
    ProvedImpossible,
    Remedy,
)
from pinloom.design.bounds import refuse
from pinloom.design.clash import how_many, smallest_clash
from pinloom.design.families import fullest
from pinloom.design.given import refuse_given
from pinloom.design.naming import Names
from pinloom.design.owncuts import none_spared
from pinloom.design.problem import DesignProblem, from_request
from pinloom.design.refine import refine
from pinloom.design.refusal import Refusal
from pinloom.design.remedies import remedies
from pinloom.design.sat import Meter, Verdict
from pinloom.design.search import Found, find
from pinloom.design.watch import CONFLICTS, Progress, Watch

SHRUNK = 14  # keys of a refusal up to which it is shrunk to a minimal conflict
SPARED = 60  # ... and up to which it is shown minimal where that takes no search
NEAR = 70  # percent of a counting bound from which it is worth telling


def design(request: DesignRequest, progress: Progress | None = None) -> DesignOutcome:
    """Cuts of every key, or why not. Raises ValueError when a cylinder cannot take the job's keys
    at all: hardware is checked before.
    """
    return _Solver(request, progress).run()


class _Solver:
    def __init__(self, request: DesignRequest, progress: Progress | None) -> None:
        self._request = request
        self._problem: DesignProblem = from_request(request)
        self._names = Names(request, self._problem)
        self._watch = Watch(progress)
        self._meter = Meter(request.budget * CONFLICTS, self._watch)
        self._reasons = Meter(request.budget * CONFLICTS, self._watch)

    def run(self) -> DesignOutcome:
        self._watch.doing("counting")
        refusal = refuse_given(self._problem) or refuse(self._problem)
        if refusal is not None:
            return self._impossible(self._shrunk(refusal))
        found = find(self._problem, self._meter, self._watch, self._request.seed)
        if found.verdict is Verdict.SAT:
            return self._designed(found)
        if found.verdict is Verdict.UNSAT:
            return self._impossible(self._whole_clash())
        return self._gave_up(found)

    # -- a design -----------------------------------------------------------------------------

    def _designed(self, found: Found) -> Designed:
        count = self._problem.chart_keys
        steps = self._meter.spent // CONFLICTS
        best = refine(
            self._problem,
            self._request.preference,
            found,
            steps,
            self._watch,
            self._request.seed,
            self._request.budget,
        )
        return Designed(
            bittings=best.bittings[:count],
            controls=tuple(
                ControlKey(group=group, levels=levels)
                for group, levels in zip(self._problem.controls, best.bittings[count:], strict=True)
            ),
            claims=best.claims,
            findings=self._remarks(),
            steps=steps,
        )

    def _remarks(self) -> tuple[Finding, ...]:
        """Keys with the same doors are told apart by cuts of their own; say so once a group."""
        rows: dict[tuple[int, ...], list[int]] = {}
        for key, row in enumerate(self._request.chart.doors_of()):
            if row:
                rows.setdefault(row, []).append(key)
        return tuple(
            note("design-same-doors", keys=self._names.list_keys(tuple(keys)))
            for keys in rows.values()
            if len(keys) > 1
        )

    # -- no design ----------------------------------------------------------------------------

    def _shrunk(self, refusal: Refusal) -> Refusal:
        """A refusal by counting, minimal where that can be shown. When fewer doors and keys already
        conflict, the smaller conflict is the reason told.
        """
        if refusal.minimal:
            return refusal
        if len(refusal.keys) > SHRUNK:
            sure = len(refusal.keys) <= SPARED and none_spared(self._problem, refusal)
            return replace(refusal, minimal=sure)
        clash = smallest_clash(self._problem, refusal.keys, refusal.locks, self._reasons)
        if clash is None or not clash.minimal:
            return refusal
        if clash.keys == refusal.keys and clash.locks == refusal.locks:
            return replace(refusal, minimal=True)
        return clash

    def _whole_clash(self) -> Refusal:
        problem = self._problem
        keys, locks = range(problem.keys), range(len(problem.locks))
        clash = smallest_clash(problem, keys, locks, self._reasons)
        return clash or Refusal(
            code="design-clash",
            keys=tuple(keys),
            locks=tuple(locks),
            values=how_many(len(locks), len(keys)),
        )

    def _impossible(self, refusal: Refusal) -> ProvedImpossible:
        return ProvedImpossible(
            reason=self._names.finding(refusal),
            doors=tuple(self._names.door(n) for n in refusal.locks),
            keys=tuple(self._names.key(k) for k in refusal.keys),
            minimal=refusal.minimal,
            remedies=self._remedies(refusal.keys, refusal.locks),
            steps=self._meter.spent // CONFLICTS,
        )

    def _gave_up(self, found: Found) -> GaveUp:
        best = found.best[: self._problem.chart_keys] if found.best else None
        keys = tuple(sorted({k for k, _ in found.wrong}))
        locks = tuple(sorted({n for _, n in found.wrong}))
        return GaveUp(
            steps=self._meter.spent // CONFLICTS,
            best=best,
            wrong=tuple(
                (self._names.key(k), door) for k, n in found.wrong for door in self._names.doors(n)
            ),
            reason=self._why(found),
            remedies=self._remedies(keys, locks),
        )

    def _remedies(self, keys: tuple[int, ...], locks: tuple[int, ...]) -> tuple[Remedy, ...]:
        if not self._request.seek_remedies:
            return ()
        return remedies(self._request, self._problem, keys, locks, self._watch)

    def _why(self, found: Found) -> Finding:
        """What is known of a chart that was neither designed nor refused: what counting would
        allow, what the layouts hold. Said as such, never as impossible.
        """
        steps, limits = self._meter.spent // CONFLICTS, found.limits
        if limits is not None and not limits.laid_out and 0 < limits.holds < limits.asked:
            flat = limits.flat_holds
            code = "design-layouts-too-small" if flat < limits.asked else "design-middle-masters"
            return note(
                code,
                steps=steps,
                asked=limits.asked,
                holds=limits.holds,
                flat=flat,
                masters=limits.masters,
            )
        full = fullest(self._problem)
        percent = 100 * len(full.family.picks) // full.cap if full and full.cap else 0
        if full is None or percent < NEAR:
            return note("design-gave-up", steps=steps, nearest=_nearest(len(found.wrong)))
        return note(
            "design-gave-up-nearly-full",
            steps=steps,
            nearest=_nearest(len(found.wrong)),
            master=self._names.key(full.family.master),
            keys=len(full.family.picks),
            cap=full.cap,
            percent=percent,
        )


def _nearest(wrong: int) -> str:
    """A sentence on the nearest design, none where no key has been placed."""
    if not wrong:
        return ""
    return f" The nearest has {wrong} wrong opening{'' if wrong == 1 else 's'}."
