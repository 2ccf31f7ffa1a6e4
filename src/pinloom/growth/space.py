"""The key space of a format as arrays: one cell for each bitting, shape ``(levels,) * chambers``.

Axis p is position p, index v along it is level v. Six chambers of ten depths are 10^6 cells, seven
are 10^7: small enough to ask every question about *every* key at once.
"""

from collections.abc import Iterable, Sequence
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


def widened(levels: Iterable[int], made: HardwareFormat) -> list[int]:
    """Levels nearer than the least step to one of the given ones: what may operate by wear."""
    reach = made.least_step - 1
    return sorted(
        {
            level + shift
            for level in levels
            for shift in range(-reach, reach + 1)
            if 0 <= level + shift < made.levels
        }
    )


def keeps_required(levels: Sequence[int], made: HardwareFormat, rules: KeyRules) -> bool:
    """Whether one bitting breaks no required key rule."""
    bow_first = made.reading is Reading.BOW_TO_TIP
    broken = breaches(levels, made.levels, bow_first, rules)
    return not any(getattr(rules, name) is Force.REQUIRE for name in broken)
