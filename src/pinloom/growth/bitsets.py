"""Many boxes or keys as bit sets, one set for each position and level: bit i stands for the i-th.

The boxes that hold a bitting are the AND of its positions' sets. For all combinations of a few
levels a chamber the ANDs are shared; boxes that no level of some chamber has are left out first.
"""

from collections.abc import Sequence
from math import prod

import numpy as np
from numpy.typing import NDArray

from pinloom.core.bitting import Bitting
from pinloom.core.fitting import chamber_positions
from pinloom.core.hardware import CoreKind, HardwareFormat
from pinloom.core.job import Job
from pinloom.core.stacks import PinnedCylinder
from pinloom.growth.space import everything, reach_of

Table = NDArray[np.int64]
Words = NDArray[np.uint64]


def sets_of(boxes: Table, made: HardwareFormat) -> list[Words]:
    """Per position, by level, the boxes that hold the level; shape (levels, words). ``boxes`` =
    level bits, shape (boxes, positions).
    """
    level = np.arange(made.levels)[:, None]
    return [_packed((boxes[:, p] >> level & 1).astype(np.bool_)) for p in range(made.chambers)]


def any_of(tables: Sequence[Words], among: NDArray[np.bool_] | None = None) -> NDArray[np.bool_]:
    """For each combination of one row a table, the last table fastest, whether a bit is set in all
    of its rows. ``among`` = the bits that count.
    """
    words = _counting(tables[0].shape[1], among)
    for table in tables:
        # Whatever no row of a table has is out of question; a table of one row is done with here.
        words = words & np.bitwise_or.reduce(table, axis=0)
    left = np.flatnonzero(_bits(words))
    if len(left) == 0:
        return np.zeros(prod(len(table) for table in tables), dtype=np.bool_)
    sets = ~np.zeros((1, -(-len(left) // 64)), dtype=np.uint64)
    for table in tables:
        if len(table) > 1:
            few = _packed(_bits(table)[:, left].astype(np.bool_))
            sets = (sets[:, None, :] & few[None, :, :]).reshape(-1, few.shape[1])
    if all(len(table) == 1 for table in tables):
        return np.ones(1, dtype=np.bool_)
    return np.asarray(sets.any(axis=1))


def any_at(
    cells: Table, tables: Sequence[Words], among: NDArray[np.bool_] | None = None
) -> NDArray[np.bool_]:
    """The same for each row of ``cells``, which names one row a table; shape (rows, tables)."""
    sets = np.tile(_counting(tables[0].shape[1], among), (len(cells), 1))
    for table, column in zip(tables, cells.T, strict=True):
        sets &= table[column]
    return np.asarray(sets.any(axis=1))


def _counting(words: int, among: NDArray[np.bool_] | None) -> Words:
    """The bits that count: all of them, or those among."""
    return ~np.zeros(words, dtype=np.uint64) if among is None else _packed(among[None, :])[0]


def _bits(words: Words) -> NDArray[np.uint8]:
    return np.unpackbits(words.view(np.uint8), axis=-1)


def _packed(rows: NDArray[np.bool_]) -> Words:
    words = -(-max(1, rows.shape[1]) // 64)
    padded = np.zeros((len(rows), words * 64), dtype=np.bool_)
    padded[:, : rows.shape[1]] = rows
    return np.packbits(padded, axis=1).view(np.uint64)


def cylinder_boxes(job: Job) -> list[list[int]]:
    """What every cylinder admits, then what turns the control lines of its cores, as level bits by
    position. Positions without pins pass all levels.
    """
    made = job.key_format
    free = everything(made)
    known: dict[tuple[int, tuple[int, ...]], int] = {}
    controls = {control.group: control.levels for control in job.controls}
    boxes: list[list[int]] = []
    lines: dict[tuple[object, ...], tuple[int, ...]] = {}
    for door, pins, wish in zip(range(len(job.pinning)), job.pinning, job.chart.doors, strict=True):
        cylinder = job.format_of(door)
        meets = chamber_positions(made, cylinder)
        if meets is None:
            raise ValueError(f"keys of {made.name} do not fit cylinders of {cylinder.name}")
        row = [free] * made.chambers
        for position, stack in zip(meets, pins.chambers, strict=True):
            if stack is not None:
                case = (stack.bottom, stack.masters)
                if case not in known:
                    known[case] = reach_of(stack.cuts(), made)
                row[position] = known[case]
        boxes.append(row)
        # A single control key without a group serves every core.
        only = controls.get("") if len(controls) == 1 else None
        control = controls.get(wish.core_group, only) if cylinder.core else None
        if control is not None:
            # A small-format core has its control line wherever it has pins, so most are alike.
            small = cylinder.core is not None and cylinder.core.kind is CoreKind.SMALL
            pinned = tuple(stack is not None for stack in pins.chambers)
            like = (control, cylinder.name, pinned if small else tuple(row))
            if like not in lines:
                lines[like] = _line(row, control, meets, pins, cylinder, made)
    return [*boxes, *(list(line) for line in sorted(set(lines.values())))]


def _line(
    row: Sequence[int],
    control: Bitting,
    meets: Sequence[int],
    pins: PinnedCylinder,
    cylinder: HardwareFormat,
    made: HardwareFormat,
) -> tuple[int, ...]:
    """A core's box at its control line; where that has no place of its own, the cylinder's."""
    assert cylinder.core is not None, "only cores have a control line"
    large = cylinder.core.kind is CoreKind.LARGE
    line = list(row)
    for chamber in cylinder.core.control_chambers if large else range(cylinder.chambers):
        if pins.chambers[chamber] is not None:
            line[meets[chamber]] = reach_of((control[meets[chamber]],), made)
    return tuple(line)
