"""Crossed keys: each opens all locks of a list but one of its own, which all the others open."""

from pinloom.design.problem import DesignProblem, locks_of
from pinloom.design.refusal import Refusal


def crossed_keys(problem: DesignProblem, of: list[list[int]]) -> Refusal | None:
    """Theorem. Let keys k(i) and locks l(i), i = 1 .. m, be such that l(i) refuses k(i) and admits
    all the others. A position that keeps k(i) out of l(i) holds k(i) clear of all the other keys.
    Let it do so for t of them. If t < m, these and any other key are t + 1 cuts pairwise told
    apart, so t is at most n - 1 of the n separable levels. If t < m - 1, take a key j that is not
    settled there: its lock admits the t keys and one more that is clear of them, so t + 1 is at
    most the w levels a lock may have. So m > n and m > w + 1 need m <= P x min(n - 1, w - 1).
    """
    each = crossed_in_one(problem)
    cap = max(problem.positions * each, problem.symbols_most, problem.splits_most + 1)
    crossed = _crossed(problem, of, cap)
    if len(crossed) <= cap:
        return None
    some = crossed[: cap + 1]
    return Refusal(
        code="design-crossed-keys",
        keys=tuple(sorted(k for k, _ in some)),
        locks=tuple(sorted(n for _, n in some)),
        values=(
            ("keys", str(len(crossed))),
            ("each", str(each)),
            ("chambers", str(problem.positions)),
            ("cap", str(cap)),
        ),
    )


def _crossed(problem: DesignProblem, of: list[list[int]], cap: int) -> list[tuple[int, int]]:
    """A list as above, gathered greedily; only keys and locks with many marks are worth a look."""
    keys = [k for k, own in enumerate(of) if len(own) >= cap]
    locks = [
        n
        for n, lock in enumerate(problem.locks)
        if len(lock.openers) >= cap and len(lock.active) == problem.positions
    ]
    if len(keys) <= cap or len(locks) <= cap:
        return []
    opened = {k: set(of[k]) for k in keys}
    cells = [
        (k, n)
        for k in keys
        for n in locks
        if n not in opened[k] and k not in problem.locks[n].outside
    ]
    # Many marks in a key's column and a lock's row leave room for the others.
    cells.sort(key=lambda c: (-len(of[c[0]]) - len(problem.locks[c[1]].openers), c))
    chosen: list[tuple[int, int]] = []
    for key, number in cells:
        if all(
            key != k and number != n and number in opened[k] and n in opened[key] for k, n in chosen
        ):
            chosen.append((key, number))
    return chosen


def crossed_in_one(problem: DesignProblem) -> int:
    """How many crossed keys one position can settle, when there are many."""
    return min(problem.symbols_most, problem.splits_most) - 1


def crossed_words(problem: DesignProblem) -> dict[int, tuple[int, ...]]:
    """Words for crossed keys that reach the cap of ``crossed_keys``: in every position a key leaves
    everybody's middle cut for a level that nobody else has there.
    """
    step = problem.least_step
    middle = step * ((problem.symbols_most - 1) // 2)
    shift = int(middle + 1 < problem.levels and (problem.levels - middle - 2) % step == 0)
    base = tuple(middle + shift * (p % 2) for p in range(problem.positions))
    places = [
        (p, level)
        for p in range(problem.positions)
        for level in [
            level
            for level in range(base[p] % step, problem.levels, step)
            if level != base[p]
            and all(
                abs(level - base[q]) <= problem.macs
                for q in (p - 1, p + 1)
                if 0 <= q < problem.positions
            )
        ][: crossed_in_one(problem)]
    ]
    crossed = _crossed(problem, locks_of(problem), problem.positions + 1)
    free = [key for key, _ in crossed if problem.fixed[key] is None]
    return {
        key: (*base[:p], level, *base[p + 1 :])
        for key, (p, level) in zip(free, places, strict=False)
    }
