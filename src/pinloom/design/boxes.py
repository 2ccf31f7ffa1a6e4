"""The board: every lock as a box in symbol space, and the exact score of every bitting at once.

Theory of operation. A lock's *box* is the product, position by position, of the symbols on which it
splits, widened by the symbols near them. ``open[c]`` counts the boxes over point ``c``; ``keys[c]``
adds the weights of the keys that lie on ``c``. The design is right exactly when, at every key's
point, ``open`` equals the number of locks that the key shall open.

Scoring all bittings of one key. Take the key off the board. At candidate ``c`` two things go wrong:
the key enters foreign boxes (``open[c]`` without its own locks), and every own lock's box grows
by ``c`` and may swallow foreign keys: the separable sums of ``zones``. The result is exact for
every bitting; no candidate lists. Bad stacks cost as told there; two keys on one point cost one.

Weights. A search may count a wrong opening ``weight[key] * heft[lock]`` times instead of once.
``pull[c]`` is ``open[c]`` with hefts. Only scores know of them; what is wrong is counted without.

Keys that cannot enter a lock's keyway do not count there: keys fall into classes by the locks they
cannot enter, locks by the keys kept out, and there is one ``open`` a key class, one ``keys`` a
lock class.
"""

from collections import Counter
from collections.abc import Mapping

import numpy as np

from pinloom.core.bitting import Bitting
from pinloom.design.problem import DesignProblem
from pinloom.design.rules import Legal, given_whole
from pinloom.design.symbols import SymbolSpace
from pinloom.design.zones import Floats, Ints, Zones

UNPLACED = -1
CORNERS = 10_000  # half boxes that are kept at once


class Board:
    """Keys on points, locks as boxes, kept up to date move by move.

    ``point[k]`` = point of key ``k`` or UNPLACED. ``splits[l, p]`` = bit mask of the symbols on
    which lock ``l`` splits in position ``p``; positions without pins hold every bit at all times.
    """

    def __init__(self, problem: DesignProblem, space: SymbolSpace, legal: Legal) -> None:
        self.problem, self.space, self.legal = problem, space, legal
        self.shape, self.size = space.shape, space.size
        self.strides = space.strides()
        self.zones = Zones(problem, space)
        width = max(self.shape)
        locks, keys = len(problem.locks), problem.keys
        self.rows = [np.array(lock.openers, dtype=np.int64) for lock in problem.locks]
        self.own = _columns(problem)
        self.point: Ints = np.full(keys, UNPLACED, dtype=np.int64)
        self.weight: Floats = np.ones(keys, dtype=np.float32)
        self.heft: Floats = np.ones(locks, dtype=np.float32)
        self.use = np.zeros((locks, problem.positions, width), dtype=np.int32)
        self.inactive = np.ones((locks, problem.positions), dtype=bool)
        for number, lock in enumerate(problem.locks):
            self.inactive[number, list(lock.active)] = False
        self._all = np.array([(1 << n) - 1 for n in self.shape], dtype=np.int64)
        self.splits: Ints = np.where(self.inactive, self._all, 0)
        self._classes()
        self.open = np.zeros((self._key_classes, self.size), dtype=np.float32)
        self.pull = np.zeros((self._key_classes, self.size), dtype=np.float32)
        self.keys = np.zeros((self._lock_classes, self.size), dtype=np.float32)
        self.present = np.zeros(self.size, dtype=np.float32)
        self.rightful = np.zeros(locks, dtype=np.float64)  # weights of placed openers that enter
        self.bad = np.zeros(locks, dtype=np.int64)  # stack faults
        self._boxes: list[Ints | None] = [None] * locks
        self._corners: dict[tuple[int, tuple[int, ...]], Ints] = {}
        self._vetoes: dict[int | None, Floats] = {}

    def _classes(self) -> None:
        """Sort keys by the locks they cannot enter, and locks by the keys kept out."""
        outsides = {lock.outside: None for lock in self.problem.locks}
        kinds = {outside: number for number, outside in enumerate(outsides)}
        self.lock_class = np.array([kinds[x.outside] for x in self.problem.locks], dtype=np.int64)
        patterns: dict[tuple[bool, ...], int] = {}
        classes = np.zeros(self.problem.keys, dtype=np.int64)
        for key in range(self.problem.keys):
            pattern = tuple(key in outside for outside in kinds)
            classes[key] = patterns.setdefault(pattern, len(patterns))
        self.key_class = classes
        self._key_classes, self._lock_classes = max(1, len(patterns)), max(1, len(kinds))
        self.enters = np.ones((self._key_classes, self._lock_classes), dtype=bool)
        for pattern, number in patterns.items():
            self.enters[number, : len(pattern)] = ~np.array(pattern, dtype=bool)
        self.due = np.array(
            [
                self.enters[c, self.lock_class[o]].sum()
                for c, o in zip(classes, self.own, strict=True)
            ],
            dtype=np.int64,
        )

    def veto(self, key: int) -> Floats:
        """0 where the key may lie, infinite elsewhere."""
        own = key if self._special(key) else None
        found = self._vetoes.get(own)
        if found is None:
            mask = self.legal.mask(own, self.space.levels).reshape(-1)
            if own is None or self.problem.fixed[own] is None:
                mask = mask & self.space.regular_mask()
            found = np.where(mask, np.float32(0), np.float32(np.inf)).astype(np.float32)
            self._vetoes[own] = found
        return found

    def _special(self, key: int) -> bool:
        return self.problem.fixed[key] is not None or key >= self.problem.chart_keys

    def movable(self, key: int) -> bool:
        """Whether a key has any free cut."""
        return not given_whole(self.problem, key)

    # --- moves -----------------------------------------------------------------------------

    def symbols(self, point: int) -> Ints:
        """Symbols of a point by position."""
        found: Ints = (point // self.strides) % np.array(self.shape)
        return found

    def box(self, lock: int) -> Ints:
        """Points of a lock's box; empty while none of its keys is placed."""
        found = self._boxes[lock]
        if found is None:
            masks = self.splits[lock].tolist()
            found = np.zeros(0, dtype=np.int64)
            if all(masks):
                half = len(masks) // 2
                before, after = self._corner(0, *masks[:half]), self._corner(half, *masks[half:])
                found = (before[:, None] + after).reshape(-1)
            self._boxes[lock] = found
        return found

    def _corner(self, first: int, *masks: int) -> Ints:
        """Points of a box in the positions from ``first`` on, 0 in the others: few kinds of them
        stand in many boxes.
        """
        found = self._corners.get((first, masks))
        if found is None:
            found = np.zeros(1, dtype=np.int64)
            for p, mask in enumerate(masks, start=first):
                offsets = np.array(self.zones.zone(p, mask), dtype=np.int64) * self.strides[p]
                found = (found[:, None] + offsets).reshape(-1)
            if len(self._corners) >= CORNERS:
                self._corners.clear()
            self._corners[first, masks] = found
        return found

    def place(self, key: int, point: int) -> None:
        """Put an unplaced key on a point."""
        self.point[key] = point
        self._stand(key, point, self.weight[key])
        self._turn(key, point, 1)

    def load(self, points: Mapping[int, int]) -> None:
        """Place many keys on an empty board, all at once; every box is made once."""
        if not points:
            return
        chosen, cuts = self._stand_all(points)
        own = [self.own[key] for key in points]
        keys = np.repeat(np.arange(len(chosen)), [len(locks) for locks in own])
        locks = np.concatenate(own)
        places = np.arange(self.problem.positions)
        np.add.at(self.use, (locks[:, None], places, cuts[keys]), 1)
        np.bitwise_or.at(self.splits, locks, np.int64(1) << cuts[keys])
        classes = [np.flatnonzero(entered).tolist() for entered in self.enters.T]
        kinds = self.lock_class.tolist()
        alike = bool((self.heft == 1).all())
        for lock in np.unique(locks).tolist():
            box = self.box(lock)
            for number in classes[kinds[lock]]:
                self.open[number][box] += 1
                if not alike:
                    self.pull[number][box] += self.heft[lock]
        if alike:
            self.pull += self.open
        for p in self.zones.charged:
            masks, number = np.unique(self.splits[:, p], return_inverse=True)
            faults = np.array([self.zones.stack_faults(p, int(mask)) for mask in masks])
            self.bad += np.where(self.inactive[:, p], 0, faults[number])

    def _stand_all(self, points: Mapping[int, int]) -> tuple[Ints, Ints]:
        """Keys on their points, their locks' boxes not yet; the keys, and their cuts."""
        chosen = np.fromiter(points, dtype=np.int64, count=len(points))
        at = np.fromiter(points.values(), dtype=np.int64, count=len(points))
        self.point[chosen] = at
        np.add.at(self.present, at, np.float32(1))
        for kind, entered in enumerate(self.enters):
            mine = self.key_class[chosen] == kind
            for number in np.flatnonzero(entered):
                np.add.at(self.keys[number], at[mine], self.weight[chosen[mine]])
            for key in chosen[mine].tolist():
                own = self.own[key]
                self.rightful[own[entered[self.lock_class[own]]]] += float(self.weight[key])
        return chosen, (at[:, None] // self.strides) % np.array(self.shape)

    def _faults(self, lock: int) -> int:
        return sum(
            self.zones.stack_faults(p, int(self.splits[lock, p]))
            for p in self.zones.charged
            if not self.inactive[lock, p]
        )

    def remove(self, key: int) -> None:
        """Take a key off the board."""
        point = int(self.point[key])
        self._stand(key, point, -self.weight[key])
        self._turn(key, point, -1)
        self.point[key] = UNPLACED

    def move(self, key: int, point: int) -> None:
        """Place a key, or place it elsewhere."""
        if self.point[key] != UNPLACED:
            self.remove(key)
        self.place(key, point)

    def _stand(self, key: int, point: int, weight: float) -> None:
        self.present[point] += 1 if weight > 0 else -1
        entered = self.enters[self.key_class[key]]
        self.keys[entered, point] += weight
        own = self.own[key]
        self.rightful[own[entered[self.lock_class[own]]]] += weight

    def _turn(self, key: int, point: int, sign: int) -> None:
        """Update use, splits, boxes and stacks of the key's locks."""
        own = self.own[key]
        places = np.arange(self.problem.positions)
        cuts = self.symbols(point)
        before = self.use[own[:, None], places, cuts]
        self.use[own[:, None], places, cuts] = before + sign
        turned = (before == (0 if sign > 0 else 1)) & ~self.inactive[own]
        if not turned.any():
            return
        bits = np.where(turned, np.int64(1) << cuts, 0)
        for lock, change in zip(own[turned.any(axis=1)], bits[turned.any(axis=1)], strict=True):
            self._reshape(int(lock), change)

    def _reshape(self, lock: int, change: Ints) -> None:
        classes = np.flatnonzero(self.enters[:, self.lock_class[lock]])
        old = self.box(lock)
        self.splits[lock] ^= change
        self._boxes[lock] = None
        new = self.box(lock)
        for number in classes:
            self.open[number][old] -= 1
            self.open[number][new] += 1
            self.pull[number][old] -= self.heft[lock]
            self.pull[number][new] += self.heft[lock]
        self.bad[lock] = self._faults(lock)

    def reweigh(self, keys: Ints, weights: Floats) -> None:
        """Change the weights of placed keys."""
        for key, weight in zip(keys.tolist(), weights.tolist(), strict=True):
            change = weight - float(self.weight[key])
            self.weight[key] = weight
            entered = self.enters[self.key_class[key]]
            self.keys[entered, self.point[key]] += change
            own = self.own[key]
            self.rightful[own[entered[self.lock_class[own]]]] += change

    def burden(self, locks: Ints, hefts: Floats) -> None:
        """Change the hefts of locks: how much a wrong opening of each counts."""
        for lock, heft in zip(locks.tolist(), hefts.tolist(), strict=True):
            change = heft - float(self.heft[lock])
            self.heft[lock] = heft
            for number in np.flatnonzero(self.enters[:, self.lock_class[lock]]):
                self.pull[number][self.box(lock)] += change

    # --- what is wrong ---------------------------------------------------------------------

    def excess(self) -> Ints:
        """Per key, how many locks it opens and shall not; 0 for keys not placed."""
        placed = self.point >= 0
        found = self.open[self.key_class, np.where(placed, self.point, 0)].astype(np.int64)
        return np.where(placed, found - self.due, 0)

    def twins(self) -> Ints:
        """Per key, how many further keys lie on its point."""
        placed = self.point >= 0
        return np.where(
            placed, self.present[np.where(placed, self.point, 0)].astype(np.int64) - 1, 0
        )

    def wrong(self) -> int:
        """Wrong openings, pairs of keys cut alike, and stack faults. 0 = the design is right,
        when all keys are placed where they may lie.
        """
        return int(self.excess().sum() + self.twins().sum() // 2 + self.bad.sum())

    def wrongly_opened(self, key: int) -> Ints:
        """Locks that a placed key opens and shall not."""
        inside = np.ones(len(self.rows), dtype=bool)
        for p, symbol in enumerate(self.symbols(int(self.point[key])).tolist()):
            inside &= (self.splits[:, p] & self.zones.near[p][symbol]) != 0
        inside &= self.enters[self.key_class[key], self.lock_class]
        inside[self.own[key]] = False
        return np.flatnonzero(inside)

    # --- scores ----------------------------------------------------------------------------

    def masks_without(self, key: int, own: Ints | None = None) -> Ints:
        """Split masks of a key's locks (or of some of them), locks x positions, as if the key were
        off the board.
        """
        own = self.own[key] if own is None else own
        masks = self.splits[own]
        if self.point[key] == UNPLACED:
            return masks
        cuts = self.symbols(int(self.point[key]))
        lone = self.use[own[:, None], np.arange(len(cuts)), cuts] == 1
        return np.where(lone & ~self.inactive[own], masks & ~(np.int64(1) << cuts), masks)

    def score(self, key: int, own: Ints | None = None) -> Floats:
        """Weighted cost of every point for one key, all others where they are; infinite where the
        key may not lie. 0 = it fits there. Exact for whole-number weights. With ``own``, only
        these of the key's locks count as its own, and its own boxes elsewhere as foreign.
        """
        own = self.own[key] if own is None else own
        weight, kind = float(self.weight[key]), self.key_class[key]
        cost = self.pull[kind] * np.float32(weight)
        for lock in own[self.enters[kind, self.lock_class[own]]].tolist():
            cost[self.box(lock)] -= weight * float(self.heft[lock])
        placed = self.point[key] != UNPLACED
        if placed:
            self._stand(key, int(self.point[key]), -weight)
        if len(own):
            masks = self.masks_without(key, own)
            cost += self._swallowed(own, masks)
            cost -= np.float32((self.rightful[own] * self.heft[own]).sum())
            self._add_charges(cost, own, masks)
        cost += self.present
        if placed:
            self._stand(key, int(self.point[key]), weight)
        cost += self.veto(key)
        found: Floats = cost
        return found

    def _swallowed(self, own: Ints, masks: Ints) -> Floats:
        """Weights of the keys in the grown boxes, summed over locks, for every point."""
        if self._lock_classes == 1:
            return self.zones.box_sums(self.keys[0], masks, self.heft[own])
        total = np.zeros(self.size, dtype=np.float32)
        kinds = self.lock_class[own]
        for kind in sorted(set(kinds.tolist())):
            total += self.zones.box_sums(
                self.keys[kind], masks[kinds == kind], self.heft[own[kinds == kind]]
            )
        return total

    def _add_charges(self, cost: Floats, own: Ints, masks: Ints) -> None:
        grid = cost.reshape(self.shape)
        for p in self.zones.charged:
            total = np.zeros(self.shape[p], dtype=np.float32)
            for mask, times in Counter(masks[~self.inactive[own, p], p].tolist()).items():
                total += self.zones.charge(p, mask) * np.float32(times)
            if total.any():
                grid += total.reshape([-1 if q == p else 1 for q in range(len(self.shape))])

    def volumes(self, key: int, points: Ints, most: int = 40) -> Ints:
        """Sum of the sizes of the key's grown boxes, for some points; of a big key only ``most``
        locks, evenly taken, count. Small boxes leave room.
        """
        own = self.own[key]
        if len(own) > most:
            own = own[:: -(-len(own) // most)]
        masks = self.masks_without(key, own)
        cuts = (points[:, None] // self.strides) % np.array(self.shape)
        sizes = np.bitwise_count(masks[None, :, :] | (np.int64(1) << cuts)[:, None, :])
        return np.asarray(sizes.prod(axis=2, dtype=np.int64).sum(axis=1))

    # --- whole designs ---------------------------------------------------------------------

    def bittings(self) -> tuple[Bitting, ...]:
        """The bittings of all keys; unplaced ones get the first point they may have."""
        found = []
        for key, point in enumerate(self.point.tolist()):
            at = point if point != UNPLACED else int(np.argmin(self.veto(key)))
            found.append(self.space.bitting_of(at))
        return tuple(found)


def _columns(problem: DesignProblem) -> list[Ints]:
    columns: list[list[int]] = [[] for _ in range(problem.keys)]
    for number, lock in enumerate(problem.locks):
        for key in lock.openers:
            columns[key].append(number)
    return [np.array(column, dtype=np.int64) for column in columns]
