"""The smallest conflict: doors and keys that cannot go together, and of which none can be spared.

1. A core: the problem with a switch for every key and lock, all switched on; the solver names the
   switches its refutation used. Cores are small but not least, and symmetry cannot help there.
2. Deletion: leave out one lock or key after the other and solve what remains. No design: leave it
   out for good. A design: it is needed. Each answer is a solve of its own, with symmetry.

Dropping a door or a key never makes a solvable chart unsolvable, so one pass is enough: what was
needed in a larger set is needed in a smaller one. The one exception: a key may bridge two levels
whose difference is not made as a pin; then a second pass looks again.
"""

from collections.abc import Iterable

from pinloom.design.encoding import bridges
from pinloom.design.exact import Exact, solve_exact
from pinloom.design.parts import part_of
from pinloom.design.problem import DesignProblem
from pinloom.design.refusal import Refusal
from pinloom.design.sat import Meter, Sat, Verdict

CORE = 20_000  # conflicts for the core
EACH = 20_000  # conflicts for each deletion


def smallest_clash(
    problem: DesignProblem, keys: Iterable[int], locks: Iterable[int], meter: Meter
) -> Refusal | None:
    """A minimal conflict among keys and locks that are known to be in one. None when not even the
    whole could be refuted again within the meter.
    """
    kept_keys, kept_locks = _core(problem, tuple(keys), tuple(locks), meter)
    if _ask(problem, kept_keys, kept_locks, meter) is not Verdict.UNSAT:
        return None
    sure = True
    for _ in range(2 if bridges(problem.pin_sizes, problem.levels) - problem.pin_sizes else 1):
        sure = True
        for number in kept_locks:
            fewer = tuple(n for n in kept_locks if n != number)
            verdict = _ask(problem, kept_keys, fewer, meter)
            sure &= verdict is not Verdict.UNKNOWN
            if verdict is Verdict.UNSAT:
                kept_locks = fewer
        for key in kept_keys:
            less = tuple(k for k in kept_keys if k != key)
            verdict = _ask(problem, less, kept_locks, meter)
            sure &= verdict is not Verdict.UNKNOWN
            if verdict is Verdict.UNSAT:
                kept_keys = less
    return Refusal(
        code="design-clash",
        keys=kept_keys,
        locks=kept_locks,
        values=how_many(len(kept_locks), len(kept_keys)),
        minimal=sure,
    )


def how_many(doors: int, keys: int) -> tuple[tuple[str, str], ...]:
    """The figures of a clash as its message tells them."""
    return (
        ("doors", "1 door" if doors == 1 else f"{doors} doors"),
        ("keys", "1 key" if keys == 1 else f"{keys} keys"),
    )


def _core(
    problem: DesignProblem, keys: tuple[int, ...], locks: tuple[int, ...], meter: Meter
) -> tuple[tuple[int, ...], tuple[int, ...]]:
    """What one refutation used, or everything when there was no time for one."""
    part = part_of(problem, keys, locks)
    budget = meter.part(CORE)
    with Sat() as sat:
        exact = Exact(part.problem, sat, selectors=True)
        key_on, lock_on = exact.encoding.key_on, exact.encoding.lock_on
        answer = exact.solve(budget, (*key_on, *lock_on))
        meter.take(budget.spent)
        if answer.verdict is not Verdict.UNSAT:
            return part.keys, part.locks
        core = set(sat.core())
    return (
        tuple(k for k, on in zip(part.keys, key_on, strict=True) if on in core),
        tuple(n for n, on in zip(part.locks, lock_on, strict=True) if on in core),
    )


def _ask(
    problem: DesignProblem, keys: tuple[int, ...], locks: tuple[int, ...], meter: Meter
) -> Verdict:
    budget = meter.part(EACH)
    verdict = solve_exact(part_of(problem, keys, locks).problem, budget).verdict
    meter.take(budget.spent)
    return verdict
