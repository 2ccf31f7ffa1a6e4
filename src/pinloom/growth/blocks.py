"""Move keys as a block: the same cut in the chambers that all of them share.

Theory. The keys of a group differ from each other in some chambers and share the others; those tell
the group from its neighbours. If all of them take another common cut there and keep the rest, they
are told apart among themselves exactly as before. What may go wrong is counted at once for each
such map: keys that then break MACS, open a foreign cylinder or equal another key have to go
elsewhere one by one; keys that the group's doors would then admit have to be cut anew, at a price.
A map under which a retired key is admitted is of no use: the lost copy is one.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations, product

import numpy as np
from numpy.typing import NDArray

from pinloom.core.bitting import Bitting
from pinloom.growth.frozen import inactive_positions
from pinloom.growth.moving import Costs
from pinloom.growth.space import Axes, everything, reach_of
from pinloom.growth.system import System

MOST_CHANGED = 2  # shared chambers that one map changes
MISFIT = 10.0  # minutes: what a key that has to go elsewhere is reckoned at
Cuts = NDArray[np.int64]


@dataclass(frozen=True, slots=True, kw_only=True)
class Block:
    """A map: the cuts it gives, the keys to be cut anew with it, and what it would cost."""

    cuts: Mapping[int, Bitting]
    out: frozenset[int]
    price: float


def blocks(
    system: System,
    old: Mapping[int, Bitting],
    prices: Costs,
    axes: Axes,
    most: int,
) -> list[Block]:
    """The best maps, cheapest first. ``old`` = cuts in the field of the keys to move, which have
    none in the system.
    """
    moving = sorted(old)
    rows = np.array([old[k] for k in moving], dtype=np.int64)
    shared = [p for p in range(system.made.chambers) if len(set(rows[:, p])) == 1]
    judge = _Judge(system, moving, prices)
    found: list[tuple[float, int, Block]] = []
    for number, target in enumerate(_maps(rows, shared, axes)):
        made = rows.copy()
        for p, level in target:
            made[:, p] = level
        block = judge.block(made)
        if block is not None:
            found.append((block.price, number, block))
    return [block for _, _, block in sorted(found, key=lambda entry: entry[:2])[:most]]


def _maps(rows: Cuts, shared: Sequence[int], axes: Axes) -> Iterator[tuple[tuple[int, int], ...]]:
    for size in range(1, MOST_CHANGED + 1):
        for places in combinations(shared, size):
            choices = [[v for v in axes[p] if v != rows[0, p]] for p in places]
            for levels in product(*choices):
                yield tuple(zip(places, levels, strict=True))


class _Judge:
    """Counts what a map does, over all doors of the moving keys at once."""

    def __init__(self, system: System, moving: Sequence[int], prices: Costs) -> None:
        chart, made = system.chart, system.made
        self._made = made
        self._moving = np.array(moving, dtype=np.int64)
        self._prices = prices
        self._around = np.array([reach_of((v,), made) for v in range(made.levels)], dtype=np.int64)
        columns = chart.doors_of()
        self._doors = sorted({d for k in moving for d in columns[k]})
        openers = [chart.openers[d] for d in self._doors]
        self._flat = np.array([k for row in openers for k in row], dtype=np.int64)
        self._starts = np.cumsum([0, *map(len, openers)][:-1])
        self._stranger = np.ones((len(self._doors), len(chart.keys)), dtype=np.bool_)
        self._closed = np.zeros((len(self._doors), made.chambers), dtype=np.bool_)
        for i, (door, row) in enumerate(zip(self._doors, openers, strict=True)):
            self._stranger[i, list(row)] = False
            self._closed[i, inactive_positions(system, door)] = True
            if chart.blanks:
                item = chart.doors[door]
                self._stranger[i] &= [chart.enters(key, item) for key in chart.keys]
        index, known = system.known()
        self._cuts: Cuts = np.full((len(chart.keys), made.chambers), -1, dtype=np.int64)
        self._cuts[index] = known
        self._columns, self._openers = columns, chart.openers
        touched = set(self._doors)
        self._foreign: dict[int, list[int]] = {
            door: [reach_of(levels, made) if levels else everything(made) for levels in splits]
            for door, splits in enumerate(system.splits)
            if splits is not None and door not in touched
        }
        self._pinless = {door: inactive_positions(system, door) for door in self._foreign}
        self._taken = {tuple(int(v) for v in row) for row in known}
        self._avoid = set(system.avoid)

    def block(self, made: Cuts) -> Block | None:
        """What one map does; ``made`` = the new cuts, by moving key."""
        cuts = self._cuts.copy()
        cuts[self._moving] = made
        near = np.where(cuts >= 0, self._around[cuts.clip(0)], 0)
        boxes = np.bitwise_or.reduceat(near[self._flat], self._starts, axis=0)
        boxes[self._closed] = everything(self._made)
        inside: NDArray[np.bool_] = np.logical_and(self._stranger, cuts[:, 0] >= 0)
        for p in range(self._made.chambers):
            near_one = boxes[:, p, None] >> cuts[None, :, p].clip(0) & 1
            np.logical_and(inside, near_one, out=inside)
        caught: NDArray[np.bool_] = np.logical_or.reduce(inside, axis=0)
        misfit = caught[self._moving]
        caught[self._moving] = False
        out = np.flatnonzero(caught)
        if len(out) and not np.isfinite(self._prices[out]).all():
            return None
        misfit |= self._misfits(made, out.tolist(), near)
        return Block(
            cuts={
                int(k): tuple(int(v) for v in row)
                for k, row, bad in zip(self._moving, made, misfit, strict=True)
                if not bad
            },
            out=frozenset(int(k) for k in out),
            price=float(self._prices[out].sum()) + MISFIT * int(misfit.sum()),
        )

    def _misfits(self, made: Cuts, out: Sequence[int], near: Cuts) -> NDArray[np.bool_]:
        """Moving keys that cannot have these cuts while the keys in ``out`` have none."""
        boxes = self._foreign | {
            door: self._without(door, set(out), near)
            for k in out
            for door in self._columns[k]
            if door in self._foreign
        }
        told = np.unique(np.array(list(boxes.values()), dtype=np.int64), axis=0)
        opens = np.ones((len(made), len(told)), dtype=np.bool_)
        for p in range(self._made.chambers if len(told) else 0):
            opens &= (told[None, :, p] >> made[:, p, None] & 1).astype(np.bool_)
        steep = (np.abs(np.diff(made, axis=1)) > self._made.macs).any(axis=1)
        taken = self._taken - {tuple(int(v) for v in self._cuts[k]) for k in out} | self._avoid
        equal = np.array([tuple(int(v) for v in row) in taken for row in made])
        found: NDArray[np.bool_] = opens.any(axis=1) | steep | equal
        return found

    def _without(self, door: int, out: set[int], near: Cuts) -> list[int]:
        """The box of a foreign door once some of its keys have no cuts."""
        rest = [k for k in self._openers[door] if k not in out]
        box = np.bitwise_or.reduce(near[rest], axis=0) if rest else np.zeros_like(near[0])
        box[self._pinless[door]] = everything(self._made) if rest else 0
        return [int(bits) for bits in box]
