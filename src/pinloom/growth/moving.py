"""Give new cuts to some keys of a system that stays, and to few others where these are in the way.

Theory. All other keys and cylinders are frozen, so a bitting of one key is judged against boxes, as
in ``frozen``: cylinders that it must not open, and keys that its own doors would admit with it. The
first kind is final. The second kind has a price: the key in the way can be cut anew as well, which
costs its copies and the doors that it opens. ``space.box_sums`` prices every bitting at once.

The keys are placed one after another at the least price, keys with most doors first. Whoever is
caught in a door loses its cuts and joins the end of the queue; each time that happens to a key its
price grows, so that the search does not go in circles (iterative forward search with conflict
statistics). Retired keys cannot be cut anew: they have no price and are never caught.

Among equally dear places, keys of one kind that are many take the commonest kind of place: keys
that differ from their masters in the same number of chambers never open each other's doors. Only
levels that the system uses are looked at (``axes_of``). "Not found" proves nothing.
"""

import random
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import NDArray

from pinloom.core.bitting import Bitting
from pinloom.core.chart import KeyStanding
from pinloom.growth.frozen import Boxes, control_box, grows, inactive_positions
from pinloom.growth.space import (
    Axes,
    Grid,
    along,
    any_box,
    box_sums,
    everything,
    macs_grid,
    not_all_equal,
    reach_of,
)
from pinloom.growth.system import Splits, System, least_splits, strangers

FEW = 4  # keys of a kind left from which on the nearest place is taken
TURNS = 3  # placings per key to move, and SPARE more, after which the search gives up
SPARE = 60
AGAIN = 2.0  # minutes, and one a door: for moving a key again that is cut anew anyhow. It costs no
# metal, but a search that moves masters for nothing does not end
Costs = NDArray[np.float32]  # by key; infinite where it must stay as it is


@dataclass(frozen=True, slots=True, kw_only=True)
class Offer:
    """Where one key may go, on some axes: ``good`` cells, ``price`` of the keys caught there,
    ``outside`` = positions in which a cell differs from all keys of the key's least door, ``added``
    = new splits over all its doors.
    """

    axes: Axes
    good: Grid
    price: NDArray[np.float32]
    outside: NDArray[np.int32]
    added: NDArray[np.int32]


def axes_of(system: System) -> Axes:
    """Per position the levels that the widest key's progression has there."""
    columns = system.chart.doors_of()
    known = [k for k, cut in enumerate(system.cuts) if cut is not None]
    widest = max(known, key=lambda k: (len(columns[k]), -k), default=None)
    cut = (system.cuts[widest] if widest is not None else None) or (0,) * system.made.chambers
    return tuple(tuple(sorted((level, *system.made.beside(level)))) for level in cut)


class Wall:
    """The system while keys move: cuts and what each door admits. Copied by ``System``."""

    def __init__(self, system: System) -> None:
        self._still = system
        self.made = system.made
        self.chart = system.chart
        self.columns = system.chart.doors_of()
        self.cuts: list[Bitting | None] = [None] * len(system.cuts)
        self._around = np.array(
            [reach_of((v,), self.made) for v in range(self.made.levels)], dtype=np.int64
        )
        keys, doors = len(system.cuts), len(system.chart.doors)
        self._near: NDArray[np.int64] = np.zeros((keys, self.made.chambers), dtype=np.int64)
        self._level: NDArray[np.int64] = np.zeros((keys, self.made.chambers), dtype=np.int64)
        self._known: NDArray[np.bool_] = np.zeros(keys, dtype=np.bool_)
        self._box: NDArray[np.int64] = np.zeros((doors, self.made.chambers), dtype=np.int64)
        self._pinned: NDArray[np.bool_] = np.zeros(doors, dtype=np.bool_)
        self._splits: list[Splits | None] = [None] * doors
        self._avoid = np.array(system.avoid, dtype=np.int64).reshape(-1, self.made.chambers)
        for key, cut in enumerate(system.cuts):
            self._note(key, cut)
        for door, splits in enumerate(system.splits):
            self._pin(door, splits)

    def system(self) -> System:
        """The system as it stands now."""
        return replace(self._still, cuts=tuple(self.cuts), splits=tuple(self._splits))

    def give(self, key: int, cut: Bitting | None) -> None:
        """Give a key cuts, or take them away; its doors are pinned for the keys that have some."""
        self._note(key, cut)
        for door in self.columns[key]:
            known = [c for k in self.chart.openers[door] if (c := self.cuts[k]) is not None]
            self._pin(door, least_splits(self._still, door, known) if known else None)

    def caught(self, key: int) -> set[int]:
        """Keys that doors of this key admit and must not."""
        found: set[int] = set()
        index = np.flatnonzero(self._known)
        rows = self._level[index]
        for door in self.columns[key]:
            splits = self._splits[door]
            if splits is not None:
                found.update(strangers(self._still, door, splits, index, rows))
        return found

    def offer(self, key: int, prices: Costs, axes: Axes) -> Offer:
        """All places of a key, and what they cost. ``prices`` by key."""
        made = self.made
        hard = [self._foreign(key)]
        soft: list[Boxes] = []
        owners: list[NDArray[np.int64]] = []
        good = macs_grid(made, axes) & not_all_equal(made, axes)
        added = np.zeros(good.shape, dtype=np.int32)
        least: Splits | None = None
        for door, splits, count in self._own(key):
            boxes, keys = self._catches(key, door, splits)
            free = np.isfinite(prices[keys]) & (keys >= 0)
            hard.append(boxes[~free])
            soft.append(boxes[free])
            owners.append(keys[free])
            hard.append(control_box(self._still, door))
            if least is None or sum(map(len, splits)) < sum(map(len, least)):
                least = splits
            for p, levels in enumerate(splits):
                if levels:
                    good &= along(self._made_pins(levels, axes[p], door), (p,), made.chambers)
                    added += along(_outside(levels, axes[p]) * count, (p,), made.chambers)
        blocked = np.concatenate(hard)
        if len(blocked):
            good &= ~any_box(blocked, made, axes)
        self._strike_known(key, good, axes)
        outside = np.zeros(good.shape, dtype=np.int32)
        for p, levels in enumerate(least or ()):
            outside += along(_outside(levels, axes[p]), (p,), made.chambers)
        return Offer(
            axes=axes,
            good=good,
            price=_priced(soft, owners, prices, axes),
            outside=outside,
            added=added,
        )

    def _note(self, key: int, cut: Bitting | None) -> None:
        self.cuts[key] = cut
        self._known[key] = cut is not None
        self._level[key] = cut or 0
        self._near[key] = self._around[list(cut)] if cut is not None else 0

    def _pin(self, door: int, splits: Splits | None) -> None:
        self._splits[door] = splits
        self._pinned[door] = splits is not None
        if splits is not None:
            self._box[door] = [
                reach_of(levels, self.made) if levels else everything(self.made)
                for levels in splits
            ]

    def _enters(self, key: int) -> NDArray[np.bool_]:
        chart = self.chart
        if not chart.blanks:
            return np.ones(len(chart.doors), dtype=np.bool_)
        mine = chart.keys[key]
        return np.array([chart.enters(mine, door) for door in chart.doors], dtype=np.bool_)

    def _foreign(self, key: int) -> Boxes:
        """Cylinders that the key must not open, and control lines that it must not turn."""
        may = self._pinned & self._enters(key)
        others = may.copy()
        others[list(self.columns[key])] = False
        lines = []
        for door in np.flatnonzero(may).tolist() if self._still.controls else ():
            control = self._still.control_cuts(door)
            if control is not None:
                at = set(self._still.control_positions(door))
                lines.append(
                    [
                        int(self._around[control[p]]) if p in at else int(self._box[door, p])
                        for p in range(self.made.chambers)
                    ]
                )
        told = np.array(lines, dtype=np.int64).reshape(-1, self.made.chambers)
        return np.concatenate([self._box[others], told])

    def _own(self, key: int) -> list[tuple[int, Splits, int]]:
        """One of each kind of own door: (door, its splits without this key, cylinders)."""
        kinds: dict[tuple[object, ...], tuple[int, Splits, int]] = {}
        for door in self.columns[key]:
            others = [k for k in self.chart.openers[door] if k != key]
            cuts = [cut for k in others if (cut := self.cuts[k]) is not None]
            splits = least_splits(self._still, door, cuts)
            item = self.chart.doors[door]
            made = self._still.formats[door].name
            kind = (splits, tuple(others), made, item.keyway, item.core_group)
            first, _, count = kinds.get(kind, (door, splits, 0))
            kinds[kind] = (first, splits, count + item.count)
        return list(kinds.values())

    def _catches(self, key: int, door: int, splits: Splits) -> tuple[Boxes, NDArray[np.int64]]:
        """Boxes of bittings with which the door admits a foreign key, and whose box each is; -1 =
        a control key's.
        """
        mine = np.zeros(len(self.cuts), dtype=np.bool_)
        mine[list(self.chart.openers[door])] = True
        mine[key] = True
        foreign = self._known & ~mine
        if self.chart.blanks:
            item = self.chart.doors[door]
            foreign &= np.array([self.chart.enters(k, item) for k in self.chart.keys])
        keys = np.flatnonzero(foreign)
        controls = np.array([c.levels for c in self._still.controls], dtype=np.int64).reshape(
            -1, self.made.chambers
        )
        levels = np.concatenate([self._level[keys], controls])
        boxes: Boxes = np.concatenate([self._near[keys], self._around[controls]])
        closed = inactive_positions(self._still, door)
        for p, split in enumerate(splits):
            near = reach_of(split, self.made)
            inside = (near >> levels[:, p] & 1).astype(np.bool_) if p not in closed else True
            boxes[:, p] = np.where(inside, everything(self.made), boxes[:, p])
        return boxes, np.concatenate([keys, np.full(len(controls), -1, dtype=np.int64)])

    def _made_pins(self, levels: tuple[int, ...], axis: tuple[int, ...], door: int) -> Grid:
        cylinder = self._still.formats[door]
        return np.array([grows(levels, v, cylinder) for v in axis])

    def _strike_known(self, key: int, good: Grid, axes: Axes) -> None:
        others = self._known.copy()
        others[key] = False
        controls = np.array([c.levels for c in self._still.controls], dtype=np.int64).reshape(
            -1, self.made.chambers
        )
        avoid = self._avoid
        old = self._still.old[key] if self._still.old else None
        if old is not None:  # to keep its cuts is not to be given them
            avoid = avoid[(avoid != np.array(old)).any(axis=1)]
        taken = np.concatenate([self._level[others], controls, avoid])
        cell = np.zeros(len(taken), dtype=np.int64)
        on = np.ones(len(taken), dtype=np.bool_)
        for p, axis in enumerate(axes):
            place = np.searchsorted(axis, taken[:, p]).clip(max=len(axis) - 1)
            on &= np.array(axis)[place] == taken[:, p]
            cell = cell * len(axis) + place
        good.ravel()[cell[on]] = False


def _outside(levels: tuple[int, ...], axis: tuple[int, ...]) -> NDArray[np.int32]:
    return np.array([bool(levels) and v not in levels for v in axis], dtype=np.int32)


def _priced(
    soft: list[Boxes], owners: list[NDArray[np.int64]], prices: Costs, axes: Axes
) -> NDArray[np.float32]:
    """Price of the keys caught, by cell; a key that several doors catch in one box counts once."""
    shape = [len(axis) for axis in axes]
    if not soft or not sum(map(len, soft)):
        return np.zeros(shape, dtype=np.float32)
    rows = np.concatenate([np.concatenate(owners)[:, None], np.concatenate(soft)], axis=1)
    rows = np.unique(rows, axis=0)
    return box_sums(rows[:, 1:], prices[rows[:, 0]], axes)


@dataclass(frozen=True, slots=True, kw_only=True)
class Move:
    """What to move: ``free`` keys have no cuts in the system; ``hints`` = cuts to prefer; ``out`` =
    further keys to cut anew from the start; ``never`` = cuts that a key must not have, its own of
    old where it is to be cut anew in any case. ``prices`` as in ``Wall.offer``.
    """

    free: tuple[int, ...]
    prices: Costs
    hints: Mapping[int, Bitting]
    out: frozenset[int] = frozenset()
    never: Mapping[int, Bitting] = field(default_factory=dict)
    seed: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class Moved:
    """All keys placed. ``extra`` = keys cut anew beside the free ones."""

    system: System
    extra: frozenset[int]
    steps: int


def move(system: System, todo: Move, axes: Axes) -> Moved | None:
    """The system with all free keys placed, and who else was cut anew; None where none was found.

    The lines of a key with given cuts are the caller's: free keys here are free in every position.
    """
    rng = random.Random(f"move {todo.seed}")  # noqa: S311 (a search, no secret)
    wall = Wall(system)
    prices = todo.prices.copy()
    free, extra = set(todo.free), set(todo.out)
    again = np.array([AGAIN + len(row) for row in wall.columns], dtype=np.float32)
    prices[list(free | extra)] = again[list(free | extra)]
    for key in sorted(extra):
        wall.give(key, None)
    waiting = free | extra
    hints = {k: cut for k, cut in todo.hints.items() if k in waiting}
    most = TURNS * len(waiting) + SPARE
    for step in range(1, most + 1):
        if not waiting:
            return Moved(system=wall.system(), extra=frozenset(extra), steps=step)
        key = min(waiting, key=lambda k: (k not in hints, k in extra, -len(wall.columns[k]), k))
        kind = sum(len(wall.columns[k]) == len(wall.columns[key]) for k in waiting - extra)
        offer = wall.offer(key, prices, axes)
        if key in todo.never:
            strike(offer.good, todo.never[key], axes)
        cut = choose(offer, hints.pop(key, None), kind > FEW, rng)
        if cut is None:
            return None
        wall.give(key, cut)
        waiting.discard(key)
        for other in sorted(wall.caught(key)):
            if not np.isfinite(prices[other]):
                return None
            wall.give(other, None)
            waiting.add(other)
            prices[other] = again[other] + (prices[other] if other in free | extra else 0)
            if other not in free:
                extra.add(other)
    return None


def strike(good: Grid, cut: Bitting, axes: Axes) -> None:
    """Take one bitting out of the good ones."""
    if all(v in axis for v, axis in zip(cut, axes, strict=True)):
        good[tuple(axis.index(v) for axis, v in zip(axes, cut, strict=True))] = False


def choose(offer: Offer, hint: Bitting | None, many: bool, rng: random.Random) -> Bitting | None:
    """The cheapest place: the hint where it is as cheap as any, else by the rules of this file."""
    if not offer.good.any():
        return None
    price = np.where(offer.good, offer.price, np.inf)
    lowest = float(price.min()) + 1e-3
    if hint is not None and all(v in axis for v, axis in zip(hint, offer.axes, strict=True)):
        cell = tuple(axis.index(v) for axis, v in zip(offer.axes, hint, strict=True))
        if price[cell] <= lowest:
            return hint
    cells = np.flatnonzero(price.ravel() <= lowest)
    if many:
        outside = offer.outside.ravel()[cells]
        cells = cells[outside == np.bincount(outside).argmax()]
    added = offer.added.ravel()[cells]
    cells = cells[added == added.min()]
    place = np.unravel_index(int(cells[rng.randrange(len(cells))]), offer.good.shape)
    return tuple(axis[int(i)] for axis, i in zip(offer.axes, place, strict=True))


def put_back(system: System, keys: Iterable[int], before: Mapping[int, Bitting]) -> System:
    """The system with keys given their earlier cuts again where nothing speaks against it."""
    wall = Wall(system)
    never = np.full(len(system.cuts), np.inf, dtype=np.float32)
    for key in keys:
        cut = before[key]
        now = wall.cuts[key]
        if cut == now:
            continue
        if wall.offer(key, never, tuple((v,) for v in cut)).good.all():
            wall.give(key, cut)
    return wall.system()


def costs(system: System, each: Mapping[int, float], doors: NDArray[np.float64]) -> Costs:
    """Price of cutting a key anew: its pieces and the doors that are not pinned anew anyhow.

    ``each`` = by key the price of its pieces; ``doors`` = by door the price of pinning it.
    """
    columns = system.chart.doors_of()
    return np.array(
        [
            np.inf
            if key.standing is KeyStanding.RETIRED
            else each[k] + float(doors[list(columns[k])].sum())
            for k, key in enumerate(system.chart.keys)
        ],
        dtype=np.float32,
    )
