"""Cross keys into a laid-out tree, one by one, each at its exact best place.

A tree code fixes which *words* the change keys of a group use, not which door has which word: as
long as a change key's lock has no further key, it may trade words with its brothers and nothing
else changes. Such keys form a *pool*. A cross key over one of their doors wants the word that
agrees with it best, and words can be handed out for the asking:

    cost(c) = foreign boxes over c + sum over doors of min over words w of
              the foreign keys in the box of (masters, w, c)

exact for every point ``c`` at once, for doors in different pools; for several doors of one pool the
smallest of these counts, as many as doors, are added. Doors outside pools are scored as they stand.
(Words that no brother has yet were tried too, and left the later keys less room.)

Without the trade a full group (60 of 64 words) leaves next to no room for cross keys: each of its
boxes with a foreign key holds brothers' words.

Among points of least cost the least crowded one is taken (``crowding``), with the words that the
doors would have there. This choice decides how much room the keys to come find. A few last keys
take the point of the smallest boxes instead: it leaves more room to a system that grows later.
"""

import random
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from pinloom.design.boxes import UNPLACED, Board
from pinloom.design.crowding import Crowding, cuts_of
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


@dataclass(frozen=True, slots=True, kw_only=True)
class _Offer:
    """Words that some doors of a pool may have: those of the brothers with the locks ``mates``.
    ``table`` = cost by word and point of the new key, ``masks`` = the boxes without it.
    """

    pool: Pool
    doors: list[int]
    mates: list[int]
    words: Ints
    masks: Ints
    table: Floats

    def choose(self, points: Ints, cuts: Ints, board: Board) -> Ints:
        """Numbers of the words of least cost, as many as doors, for some points: an array points x
        doors. Of equal ones those that differ least from the new key.
        """
        differ = (cuts_of(board, self.words)[None] != cuts[:, None]).sum(axis=2)
        rank = self.table[:, points].T * 64 + differ
        return np.argsort(rank, axis=1, kind="stable")[:, : len(self.doors)]


class Inserter:
    """Places further keys on a board that holds the tree. ``own`` = own lock of every change
    key; ``many`` = whether more than a few keys are to be placed.
    """

    def __init__(
        self, board: Board, own: dict[int, int], rng: random.Random, *, many: bool
    ) -> None:
        self._board, self._rng = board, rng
        self._crowding = Crowding(board) if many else None
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
        offers = [self._offer(key, pool, doors) for pool, doors in groups]
        for offer in offers:
            count = len(offer.doors)
            if count == 1:
                cost += offer.table.min(axis=0)
            else:
                cost += np.partition(offer.table, count - 1, axis=0)[:count].sum(axis=0)
        best = float(cost.min())
        point = self._settle(key, np.flatnonzero(cost == best), fixed, offers)
        for offer in offers:
            self._trade(offer, point)
        board.place(key, point)
        return best

    def _offer(self, key: int, pool: Pool, doors: list[int]) -> _Offer:
        """Per offered word and point: foreign keys in the grown box, less what is no fault."""
        board = self._board
        mates = self._mates(pool, doors)
        locks = np.array(mates, dtype=np.int64)
        masks = board.splits[locks]
        kind = board.lock_class[locks[0]]
        table = board.zones.box_tables(board.keys[kind], masks)
        table -= board.rightful[locks].astype(np.float32)[:, None]
        if board.enters[board.key_class[key], kind]:
            for row, lock in enumerate(mates):
                table[row, board.box(lock)] -= board.weight[key]
        words = board.point[[pool.key_of[lock] for lock in mates]]
        return _Offer(pool=pool, doors=doors, mates=mates, words=words, masks=masks, table=table)

    def _mates(self, pool: Pool, doors: list[int]) -> list[int]:
        """Locks of the pool whose words are tried, those that want one among them."""
        free = pool.free()
        most = max(len(doors), TABLE_CELLS // self._board.size)
        if len(free) <= most:
            return free
        others = [lock for lock in free if lock not in doors]
        return sorted(doors + self._rng.sample(others, most - len(doors)))

    def _settle(self, key: int, points: Ints, fixed: Ints, offers: Sequence[_Offer]) -> int:
        """The least crowded of some points, or that of the smallest boxes."""
        board = self._board
        if len(points) > TIES:
            points = np.array(sorted(self._rng.sample(points.tolist(), TIES)), dtype=np.int64)
        if len(points) == 1:
            return int(points[0])
        if self._crowding is None:
            return int(points[int(np.argmin(board.volumes(key, points)))])
        cuts = cuts_of(board, points)
        masks = [np.repeat(board.splits[fixed][None], len(points), axis=0)]
        masks += [offer.masks[offer.choose(points, cuts, board)] for offer in offers]
        grown = np.concatenate(masks, axis=1) | (np.int64(1) << cuts)[:, None, :]
        own = np.array([*fixed.tolist(), *(n for o in offers for n in o.doors)], dtype=np.int64)
        crowding = self._crowding.of_points(points, own) + self._crowding.of_boxes(grown)
        return int(points[int(np.argmin(crowding))])

    def _trade(self, offer: _Offer, point: int) -> None:
        """Give the doors the words of least cost, each from the brother that has it."""
        board, pool = self._board, offer.pool
        points = np.array([point], dtype=np.int64)
        chosen = offer.words[offer.choose(points, cuts_of(board, points), board)[0]].tolist()
        keys = [pool.key_of[lock] for lock in offer.doors]
        mates = [pool.key_of[lock] for lock in offer.mates]
        kept = {int(board.point[k]) for k in keys} & set(chosen)
        wanted = [word for word in chosen if word not in kept]
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
