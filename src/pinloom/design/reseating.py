"""Reseating: take some cross keys out of a nearly finished design and insert them anew.

Repair moves one key at a time and cannot trade words; insertion can, but never looks back. So when
few wrong openings are left: choose one of them, release the cross keys that have a part in it and
a few others, and insert them again in another order. What is no worse is kept, which lets the
search drift along plateaus; what is worse is undone.
"""

import random
from collections.abc import Sequence

import numpy as np

from pinloom.design.boxes import Board
from pinloom.design.insertion import Inserter
from pinloom.design.repair import culprits
from pinloom.design.zones import Ints

COST = 10  # steps that one insertion counts for
BROADER = 0.5  # how often keys that share locks with the released ones go with them
BIG = 20  # keys of more locks stay: they cost much and fit nowhere else
MOST = 10  # keys released at once


class Reseating:
    """Reseats the keys ``others`` that an inserter placed on its board."""

    def __init__(
        self, board: Board, inserter: Inserter, others: Sequence[int], rng: random.Random
    ) -> None:
        self._board, self._inserter, self._rng = board, inserter, rng
        self._others = sorted(k for k in others if board.movable(k) and len(board.own[k]) <= BIG)
        self._among = frozenset(self._others)
        self.steps = 0

    def run(self, budget: int) -> bool:
        """Search for about ``budget`` steps. Tells whether fewer openings are wrong than before;
        if not, the board is as it was.
        """
        limit = self.steps + budget
        first, start = self._board.point.copy(), self._board.wrong()
        left = start
        while left and self.steps < limit and self._others:
            chosen = self._chosen()
            self.steps += 1 + COST * len(chosen)
            before = self._board.point.copy()
            for key in chosen:
                self._inserter.release(key)
            for key in chosen:
                self._inserter.insert(key)
            found = self._board.wrong()
            if found > left:
                self._undo(before)
            left = min(left, found)
        if left == start:
            self._undo(first)
        return left < start

    def _chosen(self) -> list[int]:
        """Keys to be released, in the order in which they come back; none where no cross key has a
        part in what is wrong.
        """
        board, rng = self._board, self._rng
        key = rng.choice(culprits(board).tolist())
        locks = board.wrongly_opened(key).tolist()
        near = {key, *(board.rows[rng.choice(locks)].tolist() if locks else ())}
        chosen = sorted(near & self._among)
        if not chosen:
            return []
        if rng.random() < BROADER:
            one = rng.choice(chosen)
            beside = {k for n in board.own[one].tolist() for k in board.rows[n].tolist()}
            chosen = sorted({*chosen, *(beside & self._among)})
        chosen = sorted({*chosen, *rng.choices(self._others, k=rng.randint(0, 2))})
        return rng.sample(chosen, min(len(chosen), MOST))

    def _undo(self, before: Ints) -> None:
        board = self._board
        for key in np.flatnonzero(board.point != before).tolist():
            board.move(key, int(before[key]))
