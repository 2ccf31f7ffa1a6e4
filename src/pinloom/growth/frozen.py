"""Is there any cut for this key with everything else as it is? Exact, over the whole key space.

Theory. The key's own doors D are re-pinned for it; every other cylinder and key stays. A bitting c
is possible exactly when

1. no foreign cylinder admits c: the cylinder's box, widened by ``least_step - 1``, is marked;
2. in each own door, grown from its splits S to S + c, no foreign key falls. Where a foreign key is
   near S (in the positions N), it stays near whatever c is; so the grown door admits it exactly
   when c is near the key in all other positions Q. For each set Q (at most 2^P of them) the keys'
   neighbourhoods are marked in an array over the axes Q alone and spread over the grid once;
3. in each position S + c needs only master pins that are made, and no more than allowed;
4. c keeps MACS and the required key rules, differs from every key, and does not turn a core's
   control line: near the control cuts in the control positions and inside the box elsewhere.

What must stay in sync: the two rules of opening, which ``proof`` reads from lengths and here are
read from levels; a test compares this file with brute force on tiny formats.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pinloom.core.bitting import Bitting
from pinloom.core.hardware import HardwareFormat
from pinloom.core.keyrules import KeyRules
from pinloom.growth.space import (
    Grid,
    along,
    keeps_required,
    macs_grid,
    not_all_equal,
    shape_of,
    widened,
)
from pinloom.growth.system import Splits, System, least_splits, serves

MOST_KEYS = 10_000_000  # cells of the largest grid that is laid out at once


@dataclass(frozen=True, slots=True, kw_only=True)
class Places:
    """Where a key may go. ``fits`` marks the possible bittings; ``added`` counts the master pins
    that a bitting adds over all its doors, ``repinned`` the cylinders of the key whose pins on the
    wall do not serve it; a door counts with its number of cylinders.
    """

    fits: Grid
    added: NDArray[np.int32]
    repinned: NDArray[np.int32]

    @property
    def count(self) -> int:
        """How many bittings are possible."""
        return int(np.count_nonzero(self.fits))

    def best(self, most: int) -> tuple[Bitting, ...]:
        """The possible bittings by fewest re-pinned cylinders, then fewest added master pins, then
        shallow first.
        """
        cells = np.flatnonzero(self.fits)
        keys = (self.added.ravel()[cells], self.repinned.ravel()[cells])
        order = np.lexsort(keys)[:most]
        shape = self.fits.shape
        return tuple(
            tuple(int(v) for v in np.unravel_index(int(cell), shape)) for cell in cells[order]
        )


def places(system: System, key: int, rules: KeyRules | None = None) -> Places:
    """All bittings that ``chart.keys[key]`` may have with every other key and cylinder frozen.

    Own doors are pinned anew for their keys with known cuts and this one. Raises ValueError when
    the key space is beyond ``MOST_KEYS``.
    """
    rules = rules or KeyRules()
    made = system.made
    if made.levels**made.chambers > MOST_KEYS:
        raise ValueError(f"{made.name}: the key space is too large to lay out")
    own = [d for d, row in enumerate(system.chart.openers) if key in row]
    bad = _foreign_doors(system, key)
    added = np.zeros(shape_of(made), dtype=np.int32)
    for door, splits, count in _distinct_own(system, key, own):
        _mark_foreign_keys(system, key, door, splits, bad)
        _mark_pins(made, system.formats[door], splits, count, bad, added)
        _mark_control(system, door, bad)
    good = macs_grid(made)
    good &= not_all_equal(made)
    good &= ~bad
    _strike_known(system, key, good)
    return Places(fits=_with_rules(good, made, rules), added=added, repinned=_repinned(system, own))


def _repinned(system: System, own: Sequence[int]) -> NDArray[np.int32]:
    """Per bitting, how many of the key's cylinders need new pins for it."""
    counts = np.zeros(shape_of(system.made), dtype=np.int32)
    index, rows = system.known()
    everything = tuple(range(system.made.levels))
    for door in own:
        item = system.chart.doors[door]
        counts += item.count
        field = system.field[door] if system.field else None
        if field is None or not serves(system, door, field, index, rows):
            continue
        if _inactive_positions(system, door) == [p for p, f in enumerate(field) if not f]:
            counts[np.ix_(*(levels or everything for levels in field))] -= item.count
    return counts


def _distinct_own(system: System, key: int, own: Sequence[int]) -> list[tuple[int, Splits, int]]:
    """One of each kind of own door: (door, its splits without this key, cylinders)."""
    kinds: dict[tuple[object, ...], tuple[int, Splits, int]] = {}
    for door in own:
        others = [k for k in system.chart.openers[door] if k != key]
        cuts = [cut for k in others if (cut := system.cuts[k]) is not None]
        splits = least_splits(system, door, cuts)
        item = system.chart.doors[door]
        # Keys that cannot enter differ by keyway, so doors are alike only when that is equal too.
        kind = (splits, tuple(others), system.formats[door].name, item.keyway, item.core_group)
        first, _, count = kinds.get(kind, (door, splits, 0))
        kinds[kind] = (first, splits, count + item.count)
    return list(kinds.values())


def _foreign_doors(system: System, key: int) -> Grid:
    """Bittings that some cylinder outside the key's doors admits, or whose control line turns."""
    made = system.made
    bad = np.zeros(shape_of(made), dtype=np.bool_)
    boxes: set[tuple[tuple[int, ...], ...]] = set()
    everything = tuple(range(made.levels))
    mine = system.chart.keys[key]
    for door, row in enumerate(system.chart.openers):
        splits = system.splits[door]
        if splits is None or not system.chart.enters(mine, system.chart.doors[door]):
            continue
        box = [tuple(widened(levels, made)) if levels else everything for levels in splits]
        if key not in row:
            boxes.add(tuple(box))
        control = system.control_cuts(door)
        if control is not None:
            for p in system.control_positions(door):
                box[p] = tuple(widened((control[p],), made))
            boxes.add(tuple(box))
    for marked in boxes:
        bad[np.ix_(*marked)] = True
    return bad


def _mark_foreign_keys(system: System, key: int, door: int, splits: Splits, bad: Grid) -> None:
    """Rule 2 for one own door. Control keys of every group are foreign keys too."""
    made, chart = system.made, system.chart
    index, cuts = system.known()
    openers = set(chart.openers[door]) | {key}
    foreign = np.array(
        [k not in openers and chart.enters(chart.keys[k], chart.doors[door]) for k in index],
        dtype=np.bool_,
    )
    rows = [tuple(int(v) for v in cut) for cut in cuts[foreign]]
    rows += [control.levels for control in system.controls]
    if not rows:
        return
    table = np.array(rows, dtype=np.int64)
    dims = made.chambers
    if not any(splits):  # no other key opens it: the door is c alone, met like any key
        near = np.zeros(table.shape, dtype=np.bool_)
    else:
        near = np.stack([_near(table[:, p], splits[p], made) for p in range(dims)], axis=1)
    inactive = _inactive_positions(system, door)
    near[:, inactive] = True
    codes = near @ (1 << np.arange(dims))
    for code in np.unique(codes):
        axes = [p for p in range(dims) if not code >> p & 1]
        if not axes:  # admitted already, whatever c is
            bad[...] = True
            return
        marked = np.zeros((made.levels,) * len(axes), dtype=np.bool_)
        for cut in np.unique(table[codes == code][:, axes], axis=0):
            marked[np.ix_(*(widened((int(v),), made) for v in cut))] = True
        bad |= along(marked, axes, dims)


def _near(column: NDArray[np.int64], levels: Sequence[int], made: HardwareFormat) -> Grid:
    reach = np.zeros(made.levels, dtype=np.bool_)
    reach[widened(levels, made)] = True
    return reach[column]


def _inactive_positions(system: System, door: int) -> list[int]:
    """Positions where the door has no pins: they pass every key."""
    probe = least_splits(system, door, [(0,) * system.made.chambers])
    return [p for p, levels in enumerate(probe) if not levels]


def _mark_pins(
    made: HardwareFormat,
    cylinder: HardwareFormat,
    splits: Splits,
    count: int,
    bad: Grid,
    added: NDArray[np.int32],
) -> None:
    """Rule 3, and the master pins that each bitting adds."""
    for p, levels in enumerate(splits):
        if not levels:
            continue
        wrong = np.array([not _grows(levels, v, cylinder) for v in range(made.levels)])
        more = np.array([count * (v not in levels) for v in range(made.levels)], dtype=np.int32)
        bad |= along(wrong, (p,), made.chambers)
        added += along(more, (p,), made.chambers)


def _grows(levels: tuple[int, ...], level: int, cylinder: HardwareFormat) -> bool:
    grown = sorted({*levels, level})
    return len(grown) <= cylinder.max_masters + 1 and all(
        b - a in cylinder.master_pins for a, b in zip(grown, grown[1:], strict=False)
    )


def _mark_control(system: System, door: int, bad: Grid) -> None:
    """Rule 4 for a large-format own door: c must not complete a way to the control line.

    With c in the box everywhere outside the control positions, only those are left to keep it out.
    In small-format cores the control line has no other position, which rule 1 has marked.
    """
    control = system.control_cuts(door)
    if control is None:
        return
    lines = system.control_positions(door)
    if len(lines) == system.made.chambers:
        return
    marked = np.zeros((system.made.levels,) * len(lines), dtype=np.bool_)
    marked[np.ix_(*(widened((control[p],), system.made) for p in lines))] = True
    bad |= along(marked, lines, system.made.chambers)


def _strike_known(system: System, key: int, good: Grid) -> None:
    for k, cut in enumerate(system.cuts):
        if cut is not None and k != key:
            good[cut] = False
    for control in system.controls:
        good[control.levels] = False


def _with_rules(good: Grid, made: HardwareFormat, rules: KeyRules) -> Grid:
    """Required rules beyond "not all equal", asked key by key only where a shop requires more."""
    if rules == KeyRules():
        return good
    for cell in np.argwhere(good):
        levels = tuple(int(v) for v in cell)
        if not keeps_required(levels, made, rules):
            good[levels] = False
    return good
