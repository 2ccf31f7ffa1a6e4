"""Counting levels: how many cuts of one position can be told apart, and for how many keys.

Two cuts are told apart when they are ``least_step`` or more from each other. The levels of a
position are cut into *runs* of ``least_step`` neighbours; no two levels of a run are told apart, so
at most one run per cut is needed. That carries every counting argument about exact cuts over to
two-step cuts: depths that open each other form a path, and a path needs as many runs as it has
separable depths.
"""

from collections.abc import Iterator
from functools import cache
from itertools import combinations, product
from math import prod


def runs(levels: tuple[int, ...], least_step: int) -> int:
    """Fewest runs of fewer than ``least_step`` steps that cover ascending levels; at the same time
    the most levels among them that are pairwise ``least_step`` apart (greedy from the left, as for
    any interval graph).
    """
    count, end = 0, -1
    for level in levels:
        if level > end:
            count, end = count + 1, level + least_step - 1
    return count


@cache
def room_beside(levels: int, least_step: int, smallest: int, taken: int) -> int:
    """Most pairwise separable levels that are also ``least_step`` from ``taken`` given ones, for
    the best choice of these: different levels, pairwise ``smallest`` or more apart.
    """
    best = 0
    for chosen in combinations(range(levels), taken):
        if any(b - a < smallest for a, b in zip(chosen, chosen[1:], strict=False)):
            continue
        best = max(best, room_beside_these(levels, least_step, chosen))
    return best


def room_beside_these(levels: int, least_step: int, chosen: tuple[int, ...]) -> int:
    """The same for given levels."""
    free = tuple(v for v in range(levels) if all(abs(v - c) >= least_step for c in chosen))
    return runs(free, least_step)


def elementary(sizes: tuple[int, ...]) -> list[int]:
    """Elementary symmetric polynomials e_0 .. e_n of some sizes: e_r counts the words that use one
    of the ``sizes[p]`` symbols in exactly r positions p and nothing in the others.
    """
    table = [1]
    for size in sizes:
        table = [
            (table[r] if r < len(table) else 0) + (table[r - 1] * size if r else 0)
            for r in range(len(table) + 1)
        ]
    return table


@cache
def spreads(count: int, positions: int, most: int) -> tuple[tuple[int, ...], ...]:
    """Smallest ways to be ``count`` different words: how many levels in each position (falling),
    such that the product reaches ``count`` and no entry can be lowered.
    """
    return tuple(_spread(count, positions, most))


def _spread(count: int, positions: int, most: int) -> Iterator[tuple[int, ...]]:
    if count <= 1:
        yield (1,) * positions
        return
    if not positions:
        return
    for first in range(min(most, count), 1, -1):
        for rest in _spread(-(-count // first), positions - 1, first):
            sizes = (first, *rest)
            if all(prod(sizes) // size * (size - 1) < count for size in set(sizes) if size > 1):
                yield sizes


def legal_words(levels: int, positions: int, macs: int) -> int:
    """Bittings whose neighbouring cuts differ by MACS or less (OEIS A126364 and its relatives)."""
    ending = [1] * levels
    for _ in range(positions - 1):
        ending = [sum(ending[max(0, v - macs) : min(levels, v + macs + 1)]) for v in range(levels)]
    return sum(ending)


@cache
def separable_words(levels: int, positions: int, macs: int, least_step: int) -> int:
    """No more bittings than this keep MACS and are pairwise told apart.

    Theorem. Cut the levels of each position into runs of ``least_step``, the first run possibly
    shorter. Two bittings in the same runs everywhere are not told apart, so each row of runs holds
    one bitting at most; rows with two neighbouring runs further apart than MACS hold none. The
    least count over all places where the runs may begin is a bound.
    """
    best: int = levels**positions
    for starts in product(range(least_step), repeat=positions):
        cuts = [_cut_into_runs(levels, least_step, start) for start in starts]
        ending: dict[tuple[int, int], int] = dict.fromkeys(cuts[0], 1)
        for position in range(1, positions):
            ending = {
                run: sum(n for other, n in ending.items() if _gap(other, run) <= macs)
                for run in cuts[position]
            }
        best = min(best, sum(ending.values()))
    return best


def _cut_into_runs(levels: int, least_step: int, start: int) -> list[tuple[int, int]]:
    edges = [0, *range(start or least_step, levels, least_step), levels]
    return [(a, b - 1) for a, b in zip(edges, edges[1:], strict=False)]


def _gap(one: tuple[int, int], other: tuple[int, int]) -> int:
    return max(0, one[0] - other[1], other[0] - one[1])
