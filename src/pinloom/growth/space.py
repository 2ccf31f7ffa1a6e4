"""The key space of a format as arrays: one cell for each bitting, shape ``(levels,) * chambers``.

Axis p is position p, index v along it is level v. Six chambers of ten depths are 10^6 cells, seven
are 10^7: small enough to ask every question about *every* key at once.
"""

from collections.abc import Iterable, Sequence
from functools import cache
from itertools import pairwise
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

from pinloom.core.hardware import HardwareFormat, Reading
from pinloom.core.keyrules import Force, KeyRules, breaches

Grid = NDArray[np.bool_]
Axes = tuple[tuple[int, ...], ...]  # per position the levels looked at, ascending
# Products of this many multiplications are done at once, on one core: threads for more of them took
# 75 times as long as the product of 125 x 730 by 730 x 125 itself, and sum in any order
SMALL_PRODUCT = 250_000
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


def all_axes(made: HardwareFormat) -> Axes:
    """Every level in every position: the whole key space."""
    return (tuple(range(made.levels)),) * made.chambers


def macs_grid(made: HardwareFormat, axes: Axes | None = None) -> Grid:
    """Cells whose neighbouring cuts differ by no more than MACS."""
    levels = [np.array(axis) for axis in axes or all_axes(made)]
    grid = np.ones([len(axis) for axis in levels], dtype=np.bool_)
    for p, (one, next_one) in enumerate(pairwise(levels)):
        near = np.abs(one[:, None] - next_one[None, :]) <= made.macs
        grid &= along(near, (p, p + 1), made.chambers)
    return grid


def not_all_equal(made: HardwareFormat, axes: Axes | None = None) -> Grid:
    """Cells with at least two different cuts."""
    axes = axes or all_axes(made)
    grid = np.ones([len(axis) for axis in axes], dtype=np.bool_)
    for level in range(made.levels):
        if all(level in axis for axis in axes):
            grid[tuple(axis.index(level) for axis in axes)] = made.chambers == 1
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


def any_box(boxes: NDArray[np.int64], made: HardwareFormat, axes: Axes | None = None) -> Grid:
    """Cells that lie in at least one box. ``boxes`` = level bits, shape (boxes, chambers).

    The boxes that hold a cell are a bit set: that of its first half of cuts AND that of its second.
    Both halves are tabled once; sorting equal halves together leaves few words to look at.
    """
    axes = axes or all_axes(made)
    boxes = np.unique(boxes, axis=0)
    half = made.chambers // 2
    first = _sets(boxes[:, :half], axes[:half])
    second = np.ascontiguousarray(_sets(boxes[:, half:], axes[half:]).T)
    grid = np.zeros((len(first), second.shape[1]), dtype=np.bool_)
    for row, words in enumerate(first):
        used = np.flatnonzero(words)
        if len(used):
            grid[row] = np.bitwise_or.reduce(second[used] & words[used, None], axis=0) != 0
    return grid.reshape([len(axis) for axis in axes])


def _sets(part: NDArray[np.int64], axes: Axes) -> NDArray[np.uint64]:
    """For every choice of cuts of some positions, the boxes it lies in, 64 a word."""
    words = -(-len(part) // 64)
    sets = np.full((1, words), ~np.uint64(0))
    for p, axis in enumerate(axes):
        inside = (part[:, p] >> np.array(axis)[:, None] & 1).astype(np.bool_)
        padded = np.zeros((len(axis), words * 64), dtype=np.bool_)
        padded[:, : len(part)] = inside
        packed = np.packbits(padded, axis=1).view(np.uint64)
        sets = (sets[:, None, :] & packed[None, :, :]).reshape(-1, words)
    return sets


def box_sums(
    boxes: NDArray[np.int64], weights: NDArray[np.float32], axes: Axes
) -> NDArray[np.float32]:
    """Per cell the weights of the boxes that hold it, summed: one product of two tables, of which
    each says which boxes hold a half of the cuts.
    """
    half = len(axes) // 2
    first = _holds(boxes[:, :half], axes[:half]) * weights
    second = np.ascontiguousarray(_holds(boxes[:, half:], axes[half:]).T)
    sums = np.zeros((len(first), second.shape[1]), dtype=np.float32)
    some = max(1, SMALL_PRODUCT // sums.size)
    for start in range(0, len(boxes), some):
        sums += first[:, start : start + some] @ second[start : start + some]
    return sums.reshape([len(axis) for axis in axes])


def _holds(part: NDArray[np.int64], axes: Axes) -> NDArray[np.float32]:
    """For every choice of cuts of some positions, 1 where a box holds it; shape (cells, boxes)."""
    held = np.ones((1, len(part)), dtype=np.float32)
    for p, axis in enumerate(axes):
        inside = (part[:, p] >> np.array(axis)[:, None] & 1).astype(np.float32)
        held = (held[:, None, :] * inside[None, :, :]).reshape(-1, len(part))
    return held


def keeps_required(levels: Sequence[int], made: HardwareFormat, rules: KeyRules) -> bool:
    """Whether one bitting breaks no required key rule."""
    bow_first = made.reading is Reading.BOW_TO_TIP
    broken = breaches(levels, made.levels, bow_first, rules)
    return not any(getattr(rules, name) is Force.REQUIRE for name in broken)
