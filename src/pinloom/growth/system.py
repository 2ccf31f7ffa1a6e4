"""A system as it is in metal: keys by name, cylinders as they split, position by position.

The proof's own view is lengths; this one is levels, for searching. Whatever the search finds is
proved again from the pins before anybody sees it.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pinloom.core.bitting import Bitting
from pinloom.core.chart import AccessChart
from pinloom.core.fitting import chamber_positions
from pinloom.core.hardware import CoreKind, HardwareFormat
from pinloom.core.job import ControlKey
from pinloom.core.stacks import PinnedCylinder
from pinloom.growth.space import reach_of

Splits = tuple[tuple[int, ...], ...]  # per key position the levels it splits on; () passes all


@dataclass(frozen=True, slots=True, kw_only=True)
class System:
    """``cuts[k]`` = bitting of ``chart.keys[k]`` or None where it is still to be found;
    ``splits[d]`` = what ``chart.doors[d]`` splits on in metal, None where it has no pins yet.
    """

    chart: AccessChart
    made: HardwareFormat
    formats: tuple[HardwareFormat, ...]  # by door
    cuts: tuple[Bitting | None, ...]
    splits: tuple[Splits | None, ...]
    controls: tuple[ControlKey, ...] = ()
    field: tuple[Splits | None, ...] = ()  # pins on the wall, by door; () = of no interest
    avoid: tuple[Bitting, ...] = ()  # cuts that no key to be found may get
    old: tuple[Bitting | None, ...] = ()  # cuts in the field, by key; () = of no interest

    def known(self) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
        """Indices of the keys that have cuts, and their cuts as an array (keys, positions)."""
        index = [k for k, cut in enumerate(self.cuts) if cut is not None]
        rows = [cut for cut in self.cuts if cut is not None]
        return np.array(index, dtype=np.int64), np.array(rows, dtype=np.int64).reshape(
            len(rows), self.made.chambers
        )

    def control_cuts(self, door: int) -> Bitting | None:
        """Cuts of the control key of a door's core; None for a cylinder without a control line."""
        if self.formats[door].core is None:
            return None
        group = self.chart.doors[door].core_group
        return next((c.levels for c in self.controls if c.group == group), None)

    def control_positions(self, door: int) -> tuple[int, ...]:
        """Key positions in which the door's control key has a line of its own."""
        core = self.formats[door].core
        meets = chamber_positions(self.made, self.formats[door])
        if core is None or meets is None:
            return ()
        if core.kind is CoreKind.SMALL:
            return meets
        return tuple(meets[c] for c in core.control_chambers)


def splits_of(made: HardwareFormat, cylinder: HardwareFormat, pins: PinnedCylinder) -> Splits:
    """What a pinned cylinder splits on, by position of the key."""
    levels: list[tuple[int, ...]] = [()] * made.chambers
    for position, stack in zip(_meets(made, cylinder), pins.chambers, strict=True):
        if stack is not None:
            levels[position] = stack.cuts()
    return tuple(levels)


def least_splits(system: System, door: int, cuts: Sequence[Bitting]) -> Splits:
    """What a door splits on when it is pinned for exactly these keys."""
    open_chambers = system.chart.doors[door].unpinned
    meets = _meets(system.made, system.formats[door])
    active = {p for chamber, p in enumerate(meets, start=1) if chamber not in open_chambers}
    return tuple(
        tuple(sorted({cut[p] for cut in cuts})) if p in active else ()
        for p in range(system.made.chambers)
    )


def admitted(splits: Splits, rows: NDArray[np.int64], made: HardwareFormat) -> NDArray[np.bool_]:
    """Which keys count as opening: nearer than the least step in every position with pins.

    ``rows`` = cuts, shape (keys, positions); the answer has one entry a key.
    """
    open_to = np.ones(len(rows), dtype=np.bool_)
    for p, levels in enumerate(splits):
        if levels:
            open_to &= (reach_of(levels, made) >> rows[:, p] & 1).astype(np.bool_)
    return open_to


def can_be_pinned(splits: Splits, cylinder: HardwareFormat) -> bool:
    """Whether every difference is a master pin that is made, and none too many in a chamber."""
    return all(
        len(levels) <= cylinder.max_masters + 1
        and all(
            deep - shallow in cylinder.master_pins
            for shallow, deep in zip(levels, levels[1:], strict=False)
        )
        for levels in splits
    )


def _meets(made: HardwareFormat, cylinder: HardwareFormat) -> tuple[int, ...]:
    positions = chamber_positions(made, cylinder)
    if positions is None:
        raise ValueError(f"keys of {made.name} do not fit cylinders of {cylinder.name}")
    return positions


Indices = NDArray[np.int64]


def strangers(
    system: System, door: int, splits: Splits, index: Indices, rows: Indices
) -> list[int]:
    """Keys that these splits of a door admit and the chart does not; ``rows`` = their cuts."""
    chart = system.chart
    return [
        k
        for k in (int(v) for v in index[admitted(splits, rows, system.made)])
        if k not in chart.openers[door] and chart.enters(chart.keys[k], chart.doors[door])
    ]


def serves(system: System, door: int, field: Splits, index: Indices, rows: Indices) -> bool:
    """Whether pins on the wall do for a door: all its keys among ``index`` turn them, no other of
    ``index`` does, and pins are in just the chambers that are wanted.
    """
    openers = set(system.chart.openers[door])
    mine = [tuple(int(v) for v in row) for k, row in zip(index, rows, strict=True) if k in openers]
    least = least_splits(system, door, mine)
    turns = not mine or all(
        bool(wall) == bool(need) and set(need) <= set(wall)
        for wall, need in zip(field, least, strict=True)
    )
    return turns and not strangers(system, door, field, index, rows)
