"""Every key a cut of its own: the design of any chart that has few enough keys.

Theorem. Let every lock be allowed to split on w levels in a position, and let n levels of a
position be pairwise ``least_step`` apart, so that q = min(n, w) - 1. Then any chart of at most
P x q keys has a design, whatever the keys open: all keys have everybody's cut in every position,
but each leaves it in one position for a level that nobody else has there. A lock that refuses a key
has no key with that level, so it keeps the key out there; in one position it splits on everybody's
level and at most q others. A key that no lock refuses needs no cut of its own; one such key has
everybody's cuts, so it may come on top.

MACS, key rules, given cuts and lists of cuts to avoid may stand in the way; so these are words to
be checked, and nothing follows when they are not right. That P x q is the most for charts where
every key is refused by one lock that all others open is told in ``crossed``.
"""

from itertools import product

from pinloom.core.bitting import Bitting
from pinloom.design.check import Checker
from pinloom.design.parts import part_of
from pinloom.design.problem import DesignProblem
from pinloom.design.refusal import Refusal

_SHIFTS = 8  # everybody's words tried


def own_cuts(problem: DesignProblem) -> tuple[Bitting, ...] | None:
    """A checked design in which every key has a cut of its own, or None."""
    each = min(problem.symbols_most, problem.splits_most) - 1
    if problem.keys > problem.positions * each + 1:
        return None
    idle = _never_refused(problem)
    if problem.keys - (idle is not None) > problem.positions * each:
        return None
    checker = Checker(problem)
    for base in _bases(problem):
        words = _words(problem, base, each, checker, idle)
        if words is not None and not checker.wrong(words):
            return words
    return None


def none_spared(problem: DesignProblem, refusal: Refusal) -> bool:
    """Whether the refusal's keys and locks have a design as soon as any one of them is dropped,
    each shown by own cuts. False says nothing.
    """
    keys, locks = set(refusal.keys), set(refusal.locks)
    smaller = [(keys - {key}, locks) for key in refusal.keys]
    smaller += [(keys, locks - {lock}) for lock in refusal.locks]
    return all(own_cuts(part_of(problem, *part).problem) is not None for part in smaller)


def _bases(problem: DesignProblem) -> list[Bitting]:
    """Everybody's cuts: in the middle, even and odd depths by turns or not, then elsewhere."""
    step, levels = problem.least_step, problem.levels
    middle = step * ((problem.symbols_most - 1) // 2)
    found: dict[Bitting, None] = {}
    for start, turn in product((middle, *range(levels)), (1, 0, -1)):
        base = tuple(start + turn * (p % 2) for p in range(problem.positions))
        if all(0 <= cut < levels for cut in base):
            found[base] = None
    return list(found)[:_SHIFTS]


def _words(
    problem: DesignProblem, base: Bitting, each: int, checker: Checker, idle: int | None
) -> tuple[Bitting, ...] | None:
    """One word a key; the keys with given cuts first, positions filled evenly. ``idle`` = a key
    that has everybody's cuts.
    """
    step = problem.least_step
    free = [
        [level for level in range(cut % step, problem.levels, step) if level != cut] for cut in base
    ]
    left = [each] * problem.positions
    order = sorted(range(problem.keys), key=lambda key: (problem.fixed[key] is None, key))
    order = [key for key in order if key != idle]
    words: dict[int, Bitting] = {} if idle is None else {idle: base}
    for number, key in enumerate(order):
        turns = [(number + p) % problem.positions for p in range(problem.positions)]
        for p in turns:
            fits = [
                level
                for level in free[p]
                if left[p] and checker.legal.allows(key, (*base[:p], level, *base[p + 1 :]))
            ]
            if fits:
                level = min(fits, key=lambda level: (abs(level - base[p]), level))
                free[p].remove(level)
                left[p] -= 1
                words[key] = (*base[:p], level, *base[p + 1 :])
                break
        else:
            return None
    return tuple(words[key] for key in range(problem.keys))


def _never_refused(problem: DesignProblem) -> int | None:
    """The first key that opens every lock in use, if any."""
    used = [frozenset(lock.openers) for lock in problem.locks if lock.openers]
    everywhere = frozenset.intersection(*used) if used else frozenset()
    return min(everywhere, default=None)
