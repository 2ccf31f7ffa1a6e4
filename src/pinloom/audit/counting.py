"""Counting bittings without listing them.

Rule. A bitting can be cut when no two neighbouring cuts are more than MACS steps apart. So whether
it may go on depends on its last cut alone, and a vector of "how many beginnings end on this level"
is all one needs to carry: one multiplication by the matrix of allowed neighbours a position (the
transfer matrix method). The count over a box multiplies by the box's levels as it goes.

Counts are 64-bit: enough for 18 positions of ten depths.
"""

from collections.abc import Iterable, Sequence

import numpy as np
from numpy.typing import NDArray

Flags = NDArray[np.bool_]


def neighbours(levels: int, macs: int) -> Flags:
    """(levels, levels): which cuts may stand side by side."""
    at = np.arange(levels)
    allowed: Flags = np.abs(at[:, None] - at[None, :]) <= macs
    return allowed


def count_boxes(boxes: Flags, macs: int) -> NDArray[np.int64]:
    """How many cuttable bittings lie in each box. ``boxes``: (boxes, positions, levels)."""
    allowed = neighbours(boxes.shape[2], macs).astype(np.int64)
    ways = boxes[:, 0, :].astype(np.int64)
    for position in range(1, boxes.shape[1]):
        ways = (ways @ allowed) * boxes[:, position, :]
    total: NDArray[np.int64] = ways.sum(axis=1)
    return total


def count_within(allowed: Sequence[Iterable[int]], levels: int, macs: int) -> int:
    """Cuttable bittings whose cut at position p is one of ``allowed[p]``."""
    box = np.zeros((1, len(allowed), levels), dtype=np.bool_)
    for position, choices in enumerate(allowed):
        box[0, position, list(choices)] = True
    return int(count_boxes(box, macs)[0])


def count_bittings(positions: int, levels: int, macs: int) -> int:
    """All cuttable bittings of a format: OEIS A126364 and its family for given depths and MACS."""
    return count_within([range(levels)] * positions, levels, macs)


def count_under(master: Sequence[int], levels: int, macs: int, apart: int) -> int:
    """Change keys under a master that differ from it by ``apart`` steps or more in every cut."""
    return count_within(
        [[level for level in range(levels) if abs(level - cut) >= apart] for cut in master],
        levels,
        macs,
    )
