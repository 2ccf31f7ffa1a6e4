"""The board: every lock as a box in symbol space, and the exact score of every bitting at once.

Theory of operation. A lock's *box* is the product, position by position, of the symbols on which it
splits, widened by the symbols near them. ``open[c]`` counts the boxes over point ``c``; ``keys[c]``
adds the weights of the keys that lie on ``c``. The design is right exactly when, at every key's
point, ``open`` equals the number of locks that the key shall open.

Scoring all bittings of one key. Take the key off the board. At candidate ``c`` two things go wrong:
the key enters foreign boxes (``open[c]`` without its own locks), and every own lock's box grows
by ``c`` and may swallow foreign keys. The weight of the keys in the grown box, for all ``c``
together, is a separable sum: along one axis it is a product with the matrix
``M[v, u] = u is in the zone of S + {v}``, one axis after the other. Each such step is one small
matrix product that also turns the axes, so that P steps bring them back in place. Values are whole
numbers below 2**24, which single precision adds exactly in any order. The result is exact for
every bitting; no candidate lists. Locks of one key that split alike in some positions share those
steps.

Stacks (sizes of master pins, most of them in a position) are charged per axis, as ``STACK``
each, so that a search may pass through a bad stack and is driven out of it. Two keys on one point
cost one.

Keys that cannot enter a lock's keyway do not count there: keys fall into classes by the locks they
cannot enter, locks by the keys kept out, and there is one ``open`` a key class, one ``keys`` a
lock class.
"""

from collections import Counter
from collections.abc import Mapping
from itertools import combinations

import numpy as np
from numpy.typing import NDArray

from pinloom.core.bitting import Bitting
from pinloom.design.problem import DesignProblem
from pinloom.design.rules import Legal, given_whole
from pinloom.design.symbols import SymbolSpace

Floats = NDArray[np.float32]
Ints = NDArray[np.int64]

Row = tuple[tuple[int, ...], ...]  # split masks by stage

STACK = 16.0  # cost of one impossible stack
UNPLACED = -1
SINGLE_THREAD = 200_000  # multiplications of one matrix product


class Board:
    """Keys on points, locks as boxes, kept up to date move by move.

    ``point[k]`` = point of key ``k`` or UNPLACED. ``splits[l, p]`` = bit mask of the symbols on
    which lock ``l`` splits in position ``p``; positions without pins hold every bit at all times.
    """

    def __init__(self, problem: DesignProblem, space: SymbolSpace, legal: Legal) -> None:
        self.problem, self.space, self.legal = problem, space, legal
        self.shape, self.size = space.shape, space.size
        self.strides = space.strides()
        width = max(self.shape)
        locks, keys = len(problem.locks), problem.keys
        self.rows = [np.array(lock.openers, dtype=np.int64) for lock in problem.locks]
        self.own = _columns(problem)
        self.point: Ints = np.full(keys, UNPLACED, dtype=np.int64)
        self.weight: Floats = np.ones(keys, dtype=np.float32)
        self.use = np.zeros((locks, problem.positions, width), dtype=np.int32)
        self.inactive = np.ones((locks, problem.positions), dtype=bool)
        for number, lock in enumerate(problem.locks):
            self.inactive[number, list(lock.active)] = False
        self._all = np.array([(1 << n) - 1 for n in self.shape], dtype=np.int64)
        self.splits: Ints = np.where(self.inactive, self._all, 0)
        self._classes()
        self.open = np.zeros((self._key_classes, self.size), dtype=np.float32)
        self.keys = np.zeros((self._lock_classes, self.size), dtype=np.float32)
        self.present = np.zeros(self.size, dtype=np.float32)
        self.rightful = np.zeros(locks, dtype=np.float64)  # weights of placed openers that enter
        self.bad = np.zeros(locks, dtype=np.int64)  # stack faults
        self._boxes: list[Ints | None] = [None] * locks
        self._last_stage = max(0, problem.positions - 2)
        self._lead = [int(np.prod(self.shape[:p])) for p in range(problem.positions)]
        self._tail = _small_products(self.shape)
        self._matrices: dict[tuple[int, tuple[int, ...]], Floats] = {}
        self._charges: dict[tuple[int, int], Floats] = {}
        self._vetoes: dict[int | None, Floats] = {}
        self._near = [_bits(space.near(p)) for p in range(problem.positions)]
        self._charged = [p for p in range(problem.positions) if self._may_charge(p)]

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

    # --- tables by position and split mask -------------------------------------------------

    def zone(self, position: int, mask: int) -> list[int]:
        """Symbols that pass a lock split on ``mask``."""
        near = self._near[position]
        return [v for v in range(self.shape[position]) if near[v] & mask]

    def _matrix(self, stage: int, code: tuple[int, ...]) -> Floats:
        """The matrix of a stage: row v, column u = 1 where u passes a lock split on mask + {v};
        the last stage has it transposed, and the product of both positions' matrices.
        """
        found = self._matrices.get((stage, code))
        if found is None:
            parts = [self._grown_zones(stage + i, mask) for i, mask in enumerate(code)]
            found = parts[0] if len(parts) == 1 else np.kron(parts[0], parts[1])
            if stage == self._last_stage:
                found = found.T
            found = self._matrices[stage, code] = np.ascontiguousarray(found)
        return found

    def _grown_zones(self, position: int, mask: int) -> Floats:
        n, near = self.shape[position], self._near[position]
        zones = [[bool(near[u] & (mask | 1 << v)) for u in range(n)] for v in range(n)]
        return np.array(zones, dtype=np.float32)

    def stack_faults(self, position: int, mask: int) -> int:
        """Differences that no pin makes, and master pins too many, of one stack."""
        levels = [v for s, v in enumerate(self.space.levels[position]) if mask >> s & 1]
        gaps = [b - a for a, b in zip(levels, levels[1:], strict=False)]
        odd = sum(gap not in self.problem.pin_sizes for gap in gaps)
        return odd + max(0, len(gaps) - self.problem.max_masters)

    def _may_charge(self, position: int) -> bool:
        """Whether any stack of a position can be at fault."""
        levels = self.space.levels[position]
        gaps = {b - a for a, b in combinations(levels, 2)}
        return not gaps <= self.problem.pin_sizes or len(levels) - 1 > self.problem.max_masters

    def _charge(self, position: int, mask: int) -> Floats:
        """Cost of the stack split on mask + {v}, for every v."""
        found = self._charges.get((position, mask))
        if found is None:
            costs = [
                STACK * self.stack_faults(position, mask | 1 << v)
                for v in range(self.shape[position])
            ]
            found = np.array(costs, dtype=np.float32)
            self._charges[position, mask] = found
        return found

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
            masks = self.splits[lock]
            found = np.zeros(0, dtype=np.int64)
            if all(masks):
                found = np.zeros(1, dtype=np.int64)
                for p, mask in enumerate(masks.tolist()):
                    offsets = np.array(self.zone(p, mask), dtype=np.int64) * self.strides[p]
                    found = (found[:, None] + offsets).reshape(-1)
            self._boxes[lock] = found
        return found

    def place(self, key: int, point: int) -> None:
        """Put an unplaced key on a point."""
        self.point[key] = point
        self._stand(key, point, self.weight[key])
        self._turn(key, point, 1)

    def load(self, points: Mapping[int, int]) -> None:
        """Place many keys on an empty board; every box is made once."""
        places = np.arange(self.problem.positions)
        for key, point in points.items():
            self.point[key] = point
            self._stand(key, point, float(self.weight[key]))
            own, cuts = self.own[key], self.symbols(point)
            self.use[own[:, None], places, cuts] += 1
            self.splits[own] |= np.int64(1) << cuts
        for lock in range(len(self.rows)):
            if self.rightful[lock] or any(k in points for k in self.problem.locks[lock].openers):
                box = self.box(lock)
                for number in np.flatnonzero(self.enters[:, self.lock_class[lock]]):
                    self.open[number][box] += 1
                self.bad[lock] = self._faults(lock)

    def _faults(self, lock: int) -> int:
        return sum(
            self.stack_faults(p, int(self.splits[lock, p]))
            for p in self._charged
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
            inside &= (self.splits[:, p] & self._near[p][symbol]) != 0
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
        cost = self.open[kind] * np.float32(weight)
        for lock in own[self.enters[kind, self.lock_class[own]]].tolist():
            cost[self.box(lock)] -= weight
        placed = self.point[key] != UNPLACED
        if placed:
            self._stand(key, int(self.point[key]), -weight)
        if len(own):
            masks = self.masks_without(key, own)
            cost += self._swallowed(own, masks)
            cost -= np.float32(self.rightful[own].sum())
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
            return self.box_sums(self.keys[0], masks)
        total = np.zeros(self.size, dtype=np.float32)
        kinds = self.lock_class[own]
        for kind in sorted(set(kinds.tolist())):
            total += self.box_sums(self.keys[kind], masks[kinds == kind])
        return total

    def box_sums(self, values: Floats, masks: Ints) -> Floats:
        """Sum over locks of the values in the box of ``masks`` + {c}, for every point ``c``."""
        rows = Counter(map(self._stages, masks.tolist()))
        kinds = [len(set(column)) for column in zip(*rows, strict=True)]
        order = sorted(range(len(kinds)), key=lambda at: (kinds[at], at))
        return self._branch(values, list(rows.items()), order, 0)

    def box_tables(self, values: Floats, masks: Ints) -> Floats:
        """Per lock, the sum of the values in the box of ``masks`` + {c} for every point; an array
        locks x points.
        """
        rows = list(map(self._stages, masks.tolist()))
        kinds = [len(set(column)) for column in zip(*rows, strict=True)]
        order = sorted(range(len(kinds)), key=lambda at: (kinds[at], at))
        tables = np.empty((len(rows), self.size), dtype=np.float32)
        walk: list[tuple[Floats, list[int], int]] = [(values, list(range(len(rows))), 0)]
        while walk:
            start, chosen, at = walk.pop()
            if at == len(order):
                tables[chosen] = start
                continue
            parts: dict[tuple[int, ...], list[int]] = {}
            for number in chosen:
                parts.setdefault(rows[number][order[at]], []).append(number)
            for code, part in parts.items():
                walk.append((self._grown(start, order[at], code), part, at + 1))
        return tables

    def _stages(self, masks: list[int]) -> Row:
        """Masks by stage: one position each, the last two positions together (their axes are short
        in memory, and one wider product is quicker than two narrow ones).
        """
        return (*((mask,) for mask in masks[:-2]), tuple(masks[-2:]))

    def _grown(self, values: Floats, stage: int, code: tuple[int, ...]) -> Floats:
        """Sum one stage's axis over the grown zone, in place of every point."""
        matrix = self._matrix(stage, code)
        if stage == self._last_stage:
            found: Floats = np.matmul(values.reshape(self._tail), matrix).reshape(-1)
            return found
        n = self.shape[stage]
        found = np.matmul(matrix, values.reshape(self._lead[stage], n, -1)).reshape(-1)
        return found

    def _branch(
        self, values: Floats, rows: list[tuple[Row, int]], order: list[int], at: int
    ) -> Floats:
        """Walk the stages in ``order``, once for every distinct beginning."""
        while len(rows) == 1 and at < len(order):
            values = self._grown(values, order[at], rows[0][0][order[at]])
            at += 1
        if at == len(order):
            times = sum(times for _, times in rows)
            return values if times == 1 else values * np.float32(times)
        kinds: dict[tuple[int, ...], list[tuple[Row, int]]] = {}
        for item in rows:
            kinds.setdefault(item[0][order[at]], []).append(item)
        total: Floats | None = None
        for code, chosen in kinds.items():
            part = self._branch(self._grown(values, order[at], code), chosen, order, at + 1)
            total = part if total is None else np.add(total, part, out=total)
        assert total is not None
        return total

    def _add_charges(self, cost: Floats, own: Ints, masks: Ints) -> None:
        grid = cost.reshape(self.shape)
        for p in self._charged:
            total = np.zeros(self.shape[p], dtype=np.float32)
            for mask, times in Counter(masks[~self.inactive[own, p], p].tolist()).items():
                total += self._charge(p, mask) * np.float32(times)
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


def _small_products(shape: tuple[int, ...]) -> tuple[int, int, int]:
    """Batches, rows and columns of the last stage. Each product stays below the size at which the
    library would wake further threads: on a busy machine waiting for them costs ten times the
    product itself.
    """
    width = int(np.prod(shape[-2:]))
    rows = int(np.prod(shape)) // width
    batches = 1
    for p in range(max(0, len(shape) - 2)):
        if rows // batches * width * width > SINGLE_THREAD:
            batches *= shape[p]
    return batches, rows // batches, width


def _bits(matrix: NDArray[np.bool_]) -> list[int]:
    return [sum(1 << j for j, flag in enumerate(row) if flag) for row in matrix.tolist()]
