"""Cross keys into a laid-out tree, one by one, each at its exact best place.

A tree code fixes which *words* the change keys of a group use, not which door has which word: as
long as a change key's lock has no further key, it may trade words with its brothers and nothing
else changes. Such keys form a *pool*. A cross key over one of their doors wants the word that
agrees with it best, and words can be handed out for the asking:

    cost(c) = foreign boxes over c + sum over doors of min over words w of
              the foreign keys in the box of (masters, w, c)

exact for every point ``c`` at once, for doors in different pools; for several doors of one pool the
smallest of these counts, as many as doors, are added. Doors outside pools are scored as they stand.

Without the trade a full group (60 of 64 words) leaves next to no room for cross keys: each of its
boxes with a foreign key holds brothers' words.
"""

import random
from dataclasses import dataclass

import numpy as np

from pinloom.design.boxes import UNPLACED, Board
from pinloom.design.zones import Floats, Ints

TABLE_CELLS = 6_000_000  # most table cells held for one pool
TIES = 48  # equally good points that are looked at more closely


@dataclass(slots=True)
class Pool:
    """Change keys of one group by their own locks; ``taken[lock]`` = further keys on that lock."""

    key_of: dict[int, int]
    taken: dict[int, int]

    def free(self) -> list[int]:
        """Locks whose change keys may trade words."""
        return [lock for lock in self.key_of if not self.taken.get(lock)]


class Inserter:
    """Places further keys on a board that holds the tree. ``own`` = own lock of every change
    key."""

    def __init__(self, board: Board, own: dict[int, int], rng: random.Random) -> None:
        self._board, self._rng = board, rng
        self.pools: dict[int, Pool] = {}  # by lock
        self._gather(own)

    def _gather(self, own: dict[int, int]) -> None:
        board = self._board
        kinds: dict[tuple[object, ...], Pool] = {}
        for key, lock in own.items():
            if board.point[key] == UNPLACED or board.problem.fixed[key] is not None:
                continue
            others = tuple(
                k for k in board.rows[lock].tolist() if k != key and board.point[k] != UNPLACED
            )
            shared = tuple(n for n in board.own[key].tolist() if n != lock)
            record = board.problem.locks[lock]
            kind = (others, shared, record.active, record.outside)
            pool = kinds.setdefault(kind, Pool(key_of={}, taken={}))
            pool.key_of[lock] = key
            self.pools[lock] = pool

    def release(self, key: int) -> None:
        """Take an inserted key off the board; its doors may trade words again."""
        self._board.remove(key)
        for lock in self._board.own[key].tolist():
            pool = self.pools.get(lock)
            if pool is not None:
                pool.taken[lock] -= 1

    def insert(self, key: int) -> float:
        """Place a key at its best point, trading words where that helps; gives its cost there."""
        board = self._board
        groups: dict[int, tuple[Pool, list[int]]] = {}
        fixed: list[int] = []
        for lock in board.own[key].tolist():
            pool = self.pools.get(lock)
            if pool is None or pool.taken.get(lock):
                fixed.append(lock)
            else:
                groups.setdefault(id(pool), (pool, []))[1].append(lock)
        best = self._insert(key, np.array(fixed, dtype=np.int64), list(groups.values()))
        for lock in board.own[key].tolist():
            pool = self.pools.get(lock)
            if pool is not None:
                pool.taken[lock] = pool.taken.get(lock, 0) + 1
        return best

    def _insert(self, key: int, fixed: Ints, groups: list[tuple[Pool, list[int]]]) -> float:
        board = self._board
        cost = board.score(key, fixed)
        tables: list[tuple[Pool, list[int], list[int], Floats]] = []
        for pool, locks in groups:
            offered = self._offered(pool, locks)
            table = self._table(key, offered)
            tables.append((pool, locks, offered, table))
            count = len(locks)
            if count == 1:
                cost += table.min(axis=0)
            else:
                cost += np.partition(table, count - 1, axis=0)[:count].sum(axis=0)
        point, best = self._settle(key, cost)
        for pool, locks, offered, table in tables:
            self._trade(pool, locks, offered, table[:, point], point)
        board.place(key, point)
        return best

    def _offered(self, pool: Pool, locks: list[int]) -> list[int]:
        """Locks of the pool whose words are tried, those that want one among them."""
        free = pool.free()
        most = max(len(locks), TABLE_CELLS // self._board.size)
        if len(free) <= most:
            return free
        others = [lock for lock in free if lock not in locks]
        return sorted(locks + self._rng.sample(others, most - len(locks)))

    def _table(self, key: int, offered: list[int]) -> Floats:
        """Per offered word and point: foreign keys in the grown box, less what is no fault."""
        board = self._board
        locks = np.array(offered, dtype=np.int64)
        kind = board.lock_class[locks[0]]
        table = board.zones.box_tables(board.keys[kind], board.splits[locks])
        table -= board.rightful[locks].astype(np.float32)[:, None]
        if board.enters[board.key_class[key], kind]:
            for row, lock in enumerate(offered):
                table[row, board.box(lock)] -= board.weight[key]
        return table

    def _settle(self, key: int, cost: Floats) -> tuple[int, float]:
        """A point of least cost; among ties one whose boxes stay small."""
        best = float(cost.min())
        points = np.flatnonzero(cost == best)
        if len(points) > TIES:
            points = np.array(sorted(self._rng.sample(points.tolist(), TIES)), dtype=np.int64)
        volumes = self._board.volumes(key, points)
        return int(points[int(np.argmin(volumes))]), best

    def _trade(
        self, pool: Pool, locks: list[int], offered: list[int], costs: Floats, point: int
    ) -> None:
        """Give the doors the words of least cost, each from the brother that has it."""
        board = self._board
        cuts = board.symbols(point)
        mates = [pool.key_of[lock] for lock in offered]
        differ = {k: int((board.symbols(int(board.point[k])) != cuts).sum()) for k in mates}
        ranked = sorted(
            range(len(mates)), key=lambda i: (float(costs[i]), differ[mates[i]], mates[i])
        )
        words = [int(board.point[mates[i]]) for i in ranked[: len(locks)]]
        keys = [pool.key_of[lock] for lock in locks]
        kept = {int(board.point[k]) for k in keys} & set(words)
        wanted = [word for word in words if word not in kept]
        for key in keys:
            if int(board.point[key]) in kept:
                continue
            word = wanted.pop()
            swap(board, key, next(k for k in mates if board.point[k] == word))


def swap(board: Board, one: int, other: int) -> None:
    """Let two keys trade places."""
    if one == other:
        return
    at_one, at_other = int(board.point[one]), int(board.point[other])
    board.remove(one)
    board.remove(other)
    board.place(one, at_other)
    board.place(other, at_one)
