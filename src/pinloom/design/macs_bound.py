"""The largest family under one master where MACS forbids some words: one-step cuts only.

Theorem. The words of a family under one master are an antichain of a product of stars
(``bounds.family_cap``), and each of them keeps MACS. The LYM inequality says that the sum over its
words of 1 / N(r) is at most 1, N(r) = e_r words of the word's rank r in the whole product. If no
more than L(r) words of rank r keep MACS, the sum of a(r) with a(r) <= L(r) and sum a(r) / N(r) <= 1
is largest when the ranks are filled by falling N(r). L(r) is the most over all bittings of the
master.

With two-step cuts a run of two levels nearly always holds one that keeps MACS, so nothing is
gained.
"""

from functools import cache

import numpy as np
from numpy.typing import NDArray

from pinloom.design.levels import elementary
from pinloom.design.problem import DesignProblem

_MOST_MASTERS = 300_000  # bittings of the master that are looked at


def antichain_with_macs(problem: DesignProblem) -> int:
    """A cap on the family of one master, or a number that never binds."""
    never: int = problem.levels**problem.positions
    if problem.least_step > 1 or problem.macs >= problem.levels - 1 or never > _MOST_MASTERS:
        return never
    return _cap(problem.levels, problem.positions, problem.macs)


@cache
def _cap(levels: int, positions: int, macs: int) -> int:
    whole = elementary((levels - 1,) * positions)
    legal = [int(x) for x in legal_by_rank(levels, positions, macs).max(axis=0)]
    room, total = 1.0, 0.0
    for rank in sorted(range(positions + 1), key=lambda r: -whole[r]):
        share = min(room, legal[rank] / whole[rank])
        total += share * whole[rank]
        room -= share
    return int(total + 1e-6)


def legal_by_rank(levels: int, positions: int, macs: int) -> NDArray[np.int64]:
    """Per bitting of the master that keeps MACS and per rank, the words that keep MACS and differ
    from it in so many positions. Shape (masters, positions + 1).
    """
    grid = np.indices((levels,) * positions).reshape(positions, -1).T
    masters = grid[(np.abs(np.diff(grid, axis=1)) <= macs).all(axis=1)]
    near = (np.abs(np.subtract.outer(np.arange(levels), np.arange(levels))) <= macs).astype(
        np.int64
    )
    rows = np.arange(len(masters))
    table = np.zeros((len(masters), levels, positions + 1), dtype=np.int64)
    table[:, :, 1] = 1
    table[rows, masters[:, 0], 1] = 0
    table[rows, masters[:, 0], 0] = 1
    for p in range(1, positions):
        reached = np.einsum("mvr,vw->mwr", table, near)
        table = np.zeros_like(reached)
        table[:, :, 1:] = reached[:, :, :-1]
        table[rows, masters[:, p], :] = reached[rows, masters[:, p], :]
    total: NDArray[np.int64] = table.sum(axis=1)
    return total
