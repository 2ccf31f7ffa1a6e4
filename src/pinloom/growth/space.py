"""The key space of a format as arrays: one cell for each bitting, shape ``(levels,) * chambers``.

Axis p is position p, index v along it is level v. Six chambers of ten depths are 10^6 cells, seven
are 10^7: small enough to ask every question about *every* key at once.
"""

from collections.abc import Iterable, Sequence
from functools import cache
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

from pinloom.core.hardware import HardwareFormat, Reading
from pinloom.core.keyrules import Force, KeyRules, breaches

Grid = NDArray[np.bool_]
_Scalar = TypeVar("_Scalar", bound=np.generic)


def shape_of(made: HardwareFormat) -> tuple[int, ...]:
    """Shape of a grid over the format's whole key space."""
    return (made.levels,) * made.chambers


def along(values: NDArray[_Scalar], axes: Sequence[int], dims: int) -> NDArray[_Scalar]:
    """An array over some axes of the grid, shaped to broadcast over all of them."""
    full = [1] * dims
    for axis, size in zip(axes, values.shape, strict=True):
        full[axis] = size
    return values.reshape(full)


def macs_grid(made: HardwareFormat) -> Grid:
    """Cells whose neighbouring cuts differ by no more than MACS."""
    level = np.arange(made.levels)
    near = np.abs(level[:, None] - level[None, :]) <= made.macs
    grid = np.ones(shape_of(made), dtype=np.bool_)
    for p in range(made.chambers - 1):
        grid &= along(near, (p, p + 1), made.chambers)
    return grid


def not_all_equal(made: HardwareFormat) -> Grid:
    """Cells with at least two different cuts."""
    grid = np.ones(shape_of(made), dtype=np.bool_)
    for level in range(made.levels):
        grid[(level,) * made.chambers] = made.chambers == 1
    return grid


def reach_of(levels: Iterable[int], made: HardwareFormat) -> int:
    """Levels nearer than the least step to one of the given ones, as bits: what may operate by
    wear. Bit v stands for level v.
    """
    return _reach(tuple(levels), made.least_step, len(made.depths))


@cache
def _reach(levels: tuple[int, ...], least_step: int, count: int) -> int:
    return sum(1 << v for v in range(count) if any(abs(v - level) < least_step for level in levels))


def everything(made: HardwareFormat) -> int:
    """All levels as bits."""
    return (1 << made.levels) - 1


def any_box(boxes: NDArray[np.int64], made: HardwareFormat) -> Grid:
    """Cells that lie in at least one box. ``boxes`` = level bits, shape (boxes, chambers).

    The boxes that hold a cell are a bit set: that of its first half of cuts AND that of its second.
    Both halves are tabled once; sorting equal halves together leaves few words to look at.
    """
    boxes = np.unique(boxes, axis=0)
    half = made.chambers // 2
    first = _sets(boxes[:, :half], made)
    second = np.ascontiguousarray(_sets(boxes[:, half:], made).T)
    grid = np.zeros((len(first), second.shape[1]), dtype=np.bool_)
    for row, words in enumerate(first):
        used = np.flatnonzero(words)
        if len(used):
            grid[row] = np.bitwise_or.reduce(second[used] & words[used, None], axis=0) != 0
    return grid.reshape(shape_of(made))


def _sets(part: NDArray[np.int64], made: HardwareFormat) -> NDArray[np.uint64]:
    """For every choice of cuts of some positions, the boxes it lies in, 64 a word."""
    words = -(-len(part) // 64)
    sets = np.full((1, words), ~np.uint64(0))
    for p in range(part.shape[1]):
        inside = (part[:, p] >> np.arange(made.levels)[:, None] & 1).astype(np.bool_)
        padded = np.zeros((made.levels, words * 64), dtype=np.bool_)
        padded[:, : len(part)] = inside
        packed = np.packbits(padded, axis=1).view(np.uint64)
        sets = (sets[:, None, :] & packed[None, :, :]).reshape(-1, words)
    return sets


def keeps_required(levels: Sequence[int], made: HardwareFormat, rules: KeyRules) -> bool:
    """Whether one bitting breaks no required key rule."""
    bow_first = made.reading is Reading.BOW_TO_TIP
    broken = breaches(levels, made.levels, bow_first, rules)
    return not any(getattr(rules, name) is Force.REQUIRE for name in broken)
