"""Is there any cut for this key with everything else as it is? Exact, over the whole key space.

Theory. The key's own doors D are re-pinned for it; every other cylinder and key stays. A bitting c
is possible exactly when

1. no foreign cylinder admits c: c is not in the cylinder's box, widened by ``least_step - 1``;
2. in each own door, grown from its splits S to S + c, no foreign key falls. Where a foreign key is
   near S it stays near whatever c is; so the grown door admits it exactly when c is near the key in
   all other positions: a box again, free where the key is near S;
3. in each position S + c needs only master pins that are made, and no more than allowed;
4. c keeps MACS and the required key rules, differs from every key and from cuts to avoid, and does
   not turn a core's control line: near the control cuts in the control positions and inside the
   box elsewhere.

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
    any_box,
    everything,
    keeps_required,
    macs_grid,
    not_all_equal,
    reach_of,
    shape_of,
)
from pinloom.growth.system import Splits, System, can_be_pinned, least_splits, serves

Boxes = NDArray[np.int64]  # level bits, shape (boxes, positions)
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

    def typical(self) -> tuple[Bitting, ...]:
        """The first possible bitting that adds the commonest number of master pins; () if none."""
        cells = np.flatnonzero(self.fits)
        if not len(cells):
            return ()
        added = self.added.ravel()[cells]
        chosen = cells[added == np.bincount(added).argmax()][0]
        return (tuple(int(v) for v in np.unravel_index(int(chosen), self.fits.shape)),)


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
    boxes = [*_foreign_doors(system, key)]
    good = macs_grid(made)
    good &= not_all_equal(made)
    added = np.zeros(shape_of(made), dtype=np.int32)
    for door, splits, count in _distinct_own(system, key, own):
        boxes.append(_foreign_keys(system, key, door, splits))
        boxes.append(control_box(system, door))
        _strike_pins(made, system.formats[door], splits, count, good, added)
    boxes_of_all = np.concatenate(boxes)
    if len(boxes_of_all):
        good &= ~any_box(boxes_of_all, made)
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
        if inactive_positions(system, door) == [p for p, f in enumerate(field) if not f]:
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


def _foreign_doors(system: System, key: int) -> list[Boxes]:
    """Boxes of bittings that a cylinder outside the key's doors admits, or that turn the control
    line of any cylinder.
    """
    made = system.made
    boxes: set[tuple[int, ...]] = set()
    mine = system.chart.keys[key]
    known: dict[Splits, list[int]] = {}
    for door, row in enumerate(system.chart.openers):
        splits = system.splits[door]
        if splits is None or not system.chart.enters(mine, system.chart.doors[door]):
            continue
        if splits not in known:
            known[splits] = [
                reach_of(levels, made) if levels else everything(made) for levels in splits
            ]
        box = known[splits]
        if key not in row:
            boxes.add(tuple(box))
        control = system.control_cuts(door)
        if control is not None:
            lines = set(system.control_positions(door))
            boxes.add(
                tuple(
                    reach_of((control[p],), made) if p in lines else bits
                    for p, bits in enumerate(box)
                )
            )
    return [np.array(sorted(boxes), dtype=np.int64).reshape(-1, made.chambers)]


def _foreign_keys(system: System, key: int, door: int, splits: Splits) -> Boxes:
    """Rule 2 for one own door, a box for each foreign key; control keys are foreign keys too."""
    made, chart = system.made, system.chart
    index, cuts = system.known()
    openers = set(chart.openers[door]) | {key}
    foreign = np.array(
        [
            k not in openers and chart.enters(chart.keys[k], chart.doors[door])
            for k in index.tolist()
        ],
        dtype=np.bool_,
    )
    others = [control.levels for control in system.controls]
    table = np.concatenate(
        [cuts[foreign], np.array(others, dtype=np.int64).reshape(-1, made.chambers)]
    )
    inactive = set(inactive_positions(system, door))
    around = np.array([reach_of((v,), made) for v in range(made.levels)], dtype=np.int64)
    boxes: Boxes = around[table]
    for p, levels in enumerate(splits):
        near = reach_of(levels, made)  # nothing where no other key opens the door
        free = (near >> table[:, p] & 1).astype(np.bool_) if p not in inactive else True
        boxes[:, p] = np.where(free, everything(made), boxes[:, p])
    return boxes


def inactive_positions(system: System, door: int) -> list[int]:
    """Positions where the door has no pins: they pass every key."""
    probe = least_splits(system, door, [(0,) * system.made.chambers])
    return [p for p, levels in enumerate(probe) if not levels]


def _strike_pins(
    made: HardwareFormat,
    cylinder: HardwareFormat,
    splits: Splits,
    count: int,
    good: Grid,
    added: NDArray[np.int32],
) -> None:
    """Rule 3, and the master pins that each bitting adds."""
    for p, levels in enumerate(splits):
        if not levels:
            continue
        right = np.array([grows(levels, v, cylinder) for v in range(made.levels)])
        more = np.array([count * (v not in levels) for v in range(made.levels)], dtype=np.int32)
        good &= along(right, (p,), made.chambers)
        added += along(more, (p,), made.chambers)


def grows(levels: tuple[int, ...], level: int, cylinder: HardwareFormat) -> bool:
    """Whether pins are made for these splits with one more level."""
    return can_be_pinned((tuple(sorted({*levels, level})),), cylinder)


def control_box(system: System, door: int) -> Boxes:
    """Rule 4 for a large-format own door: c must not complete a way to the control line.

    With c in the box everywhere outside the control positions, only those are left to keep it out.
    In small-format cores the control line has no other position, which rule 1 has marked.
    """
    made = system.made
    control = system.control_cuts(door)
    lines = set(system.control_positions(door))
    if control is None or len(lines) == made.chambers:
        return np.zeros((0, made.chambers), dtype=np.int64)
    return np.array(
        [
            [
                reach_of((control[p],), made) if p in lines else everything(made)
                for p in range(made.chambers)
            ]
        ],
        dtype=np.int64,
    )


def _strike_known(system: System, key: int, good: Grid) -> None:
    for k, cut in enumerate(system.cuts):
        if cut is not None and k != key:
            good[cut] = False
    for control in system.controls:
        good[control.levels] = False
    for cut in system.avoid:
        good[cut] = False


def _with_rules(good: Grid, made: HardwareFormat, rules: KeyRules) -> Grid:
    """Required rules beyond "not all equal", asked key by key only where a shop requires more."""
    if rules == KeyRules():
        return good
    for cell in np.argwhere(good):
        levels = tuple(int(v) for v in cell)
        if not keeps_required(levels, made, rules):
            good[levels] = False
    return good
