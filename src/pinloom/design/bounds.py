"""Instant noes: counting bounds on the true model. What they refuse is impossible, whatever the
design; what they let through may still be impossible.

Every bound is a theorem about any right design, stated above its function. Two facts carry them
over to two-step cuts: a key that a lock refuses is somewhere ``least_step`` or more from *every*
level of that lock, and levels fall into runs of ``least_step`` neighbours of which no two are told
apart (``levels``).

Sources: the largest set of change keys under one master is C-9 of the published checks (derived; in
line with Cernoch, Kuzelka, Zelezny, "Polynomial and Extensible Solutions in Lock-Chart Solving",
*Applied Artificial Intelligence* 30(10), 2016). The other arguments are this program's own.
"""

from pinloom.design.crossed import crossed_keys
from pinloom.design.families import crowded_family
from pinloom.design.levels import legal_words, separable_words
from pinloom.design.problem import DesignProblem, locks_of
from pinloom.design.refusal import Refusal


def refuse(problem: DesignProblem) -> Refusal | None:
    """The first bound that the problem breaks, or None."""
    of = locks_of(problem)
    for bound in (too_many_words, crowded_lock, crowded_family, crossed_keys, uncovered_cells):
        refusal = bound(problem, of)
        if refusal is not None:
            return refusal
    return None


# -- 1. words -----------------------------------------------------------------------------------


def too_many_words(problem: DesignProblem, of: list[list[int]]) -> Refusal | None:
    """Theorem. (a) All keys differ, so there are no more than bittings that keep MACS. (b) Of two
    keys with different doors one opens a lock that refuses the other, so they are told apart
    somewhere; so the different rows of the chart are no more than ``separable_words``. A lock that
    lets the key's blank in is needed for (b), so keys kept out by their blank are not counted.
    """
    words = legal_words(problem.levels, problem.positions, problem.macs)
    if problem.keys > words:
        return Refusal(
            code="design-more-keys-than-bittings",
            keys=tuple(range(words + 1)),
            locks=(),
            values=(("keys", str(problem.keys)), ("words", str(words))),
        )
    barred = {key for lock in problem.locks for key in lock.outside}
    rows: dict[tuple[int, ...], int] = {}
    for key, row in enumerate(of):
        if key not in barred:
            rows.setdefault(tuple(row), key)
    apart = separable_words(problem.levels, problem.positions, problem.macs, problem.least_step)
    if len(rows) <= apart:
        return None
    keys = tuple(sorted(rows.values()))[: apart + 1]
    return Refusal(
        code="design-more-keys-than-separable",
        keys=keys,
        locks=tuple(sorted({lock for key in keys for lock in of[key]})),
        values=(("keys", str(len(rows))), ("words", str(apart))),
    )


# -- 2. one lock --------------------------------------------------------------------------------


def crowded_lock(problem: DesignProblem, of: list[list[int]]) -> Refusal | None:
    """Theorem. All keys of a lock with pins in every position are different points of its box, and
    the box has no more levels in a position than pins are made and allowed. C-8 is the case of two
    levels in six positions: 64 keys.
    """
    del of
    box = problem.splits_most**problem.positions
    for number, lock in enumerate(problem.locks):
        if len(lock.active) == problem.positions and len(lock.openers) > box:
            return Refusal(
                code="design-too-many-keys-on-a-door",
                keys=lock.openers[: box + 1],
                locks=(number,),
                values=(
                    ("keys", str(len(lock.openers))),
                    ("box", str(box)),
                    ("levels", str(problem.splits_most)),
                    ("chambers", str(problem.positions)),
                ),
                lock_names=(("door", (number,)),),
            )
    return None


# -- 3. covering the empty cells ----------------------------------------------------------------


def uncovered_cells(problem: DesignProblem, of: list[list[int]]) -> Refusal | None:
    """Theorem. Cut the levels of a position into n runs; they sort the keys into n classes. The
    position keeps key k out of lock l only if no key of l is in k's class (a cut in the same run
    is not told apart). So a class of s keys settles at most s x z(s) empty cells, z(s) = most locks
    that refuse s keys at once, and a position at most the best sum over n classes that share out
    all keys. All positions together must settle all empty cells. For z(s) an upper bound will do:
    the locks that refuse at least s keys, and the s-th largest number of locks refused to a key.
    """
    most = 60  # beyond it the bound is weak and the table large
    if not 1 < problem.keys <= most:
        return None
    locks = [lock for lock in problem.locks if lock.openers]
    refused = [len(locks) - len(own) for own in of]
    cells = sum(refused) - sum(len(lock.outside - set(lock.openers)) for lock in locks)
    ranked = sorted(refused, reverse=True)
    loose = [problem.keys - len(lock.openers) for lock in locks]
    worth = [0] + [
        s * min(ranked[s - 1], sum(x >= s for x in loose)) for s in range(1, problem.keys + 1)
    ]
    table = [0] + [-1] * problem.keys
    for _ in range(problem.symbols_most):
        table = [
            max(
                (table[k - s] + worth[s] for s in range(k + 1) if table[k - s] >= 0),
                default=-1,
            )
            for k in range(problem.keys + 1)
        ]
    settled = problem.positions * table[problem.keys]
    if cells <= settled:
        return None
    return Refusal(
        code="design-too-many-refusals",
        keys=tuple(range(problem.keys)),
        locks=tuple(n for n, lock in enumerate(problem.locks) if lock.openers),
        values=(
            ("cells", str(cells)),
            ("settled", str(settled)),
            ("chambers", str(problem.positions)),
        ),
    )
