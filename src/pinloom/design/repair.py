"""Repair: local search over bittings until nothing opens that should not.

One move: take a key that opens too much, and one of the locks it opens wrongly. The key and the
lock's rightful keys are the *movers*; the best of some of them, each scored over all bittings at
once (``boxes``), is moved, uphill if need be, and then rests for some moves. Two things make
it work:

- *Weights.* When nothing improves for a while, every key that still opens too much and every lock
  that it opens wrongly grow heavier, and a wrong opening counts as the product of both, so that the
  search is driven out of the valley it sits in. Without weights most charts with cross keys stay
  unsolved; woken too early they do harm.
- *Big keys* (masters) hardly ever move: their score is dear and their move breaks many locks. Never
  moving them is worse again.

A step is one key scored over all bittings. All choices come from one seeded generator, so a run
repeats exactly.
"""

import random
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from pinloom.design.boxes import Board
from pinloom.design.zones import Floats, Ints

Progress = Callable[[str], None]


@dataclass(frozen=True, slots=True, kw_only=True)
class Tuning:
    """Settings of the search, found by measurement."""

    movers: int = 8  # scored for one move
    big: int = 20  # keys of more locks move rarely
    big_share: float = 0.015
    tabu: tuple[int, int] = (7, 12)
    patience: int = 30  # moves without a new best before weights grow
    every: int = 10  # moves between two rounds of growth
    heaviest: float = 60.0  # weights go back to one beyond this
    by_volume: float = 0.7  # how often small boxes break ties
    ties: int = 64
    sampled: int = 40  # locks that speak for a big key when volumes are compared


@dataclass(slots=True)
class _Option:
    delta: float
    key: int
    point: int


@dataclass(frozen=True, slots=True)
class _Halt:
    """Where a search stood when its share ended."""

    point: Ints
    weight: Floats
    heft: Floats


def culprits(board: Board) -> Ints:
    """Keys that open too much, share a point, or open a lock with an impossible stack."""
    faulty = (board.excess() > 0) | (board.twins() > 0)
    for lock in np.flatnonzero(board.bad):
        faulty[board.rows[lock]] = True
    return np.flatnonzero(faulty)


class Repair:
    """A search on one board. ``run`` may be called again with more budget."""

    def __init__(self, board: Board, rng: random.Random, tuning: Tuning | None = None) -> None:
        self._board, self._rng = board, rng
        self._tuning = tuning or Tuning()
        self.steps = 0
        self.moves = 0
        self._rests = np.zeros(board.problem.keys, dtype=np.int64)  # move until which a key rests
        self.best = board.point.copy()
        self.best_wrong = board.wrong()
        self._best_at = 0
        self._halt: _Halt | None = None
        self._movable = [board.movable(k) for k in range(board.problem.keys)]

    def run(self, budget: int, progress: Progress | None = None) -> bool:
        """Search for at most ``budget`` further steps; True when nothing is wrong any more. The
        board is left at the best design seen.
        """
        limit = self.steps + budget
        self._resume()
        said = 0
        while self.best_wrong and self.steps < limit:
            if not self._move():
                break
            if progress is not None and self.moves >= said + 200:
                said = self.moves
                progress(f"{self.best_wrong} wrong openings left after {self.moves} moves")
        self._show_best()
        return self.best_wrong == 0

    # --- one move --------------------------------------------------------------------------

    def _move(self) -> bool:
        self.moves += 1
        board = self._board
        faulty = culprits(board)
        if not len(faulty):
            return False
        movers = self._movers(int(self._rng.choice(faulty.tolist())))
        options = [option for key in movers for option in self._options(key)]
        self.steps += max(1, len(movers))
        if options:
            self._apply(min(options, key=lambda o: o.delta))
        wrong = board.wrong()
        if wrong < self.best_wrong:
            self.best_wrong, self._best_at = wrong, self.moves
            self.best = board.point.copy()
        else:
            self._grow_weights()
        return True

    def _movers(self, key: int) -> list[int]:
        board, rng, tuning = self._board, self._rng, self._tuning
        locks = board.wrongly_opened(key).tolist()
        if not locks:
            locks = [n for n in board.own[key].tolist() if board.bad[n]]
        chosen = {key}
        if locks:
            chosen |= set(board.rows[rng.choice(locks)].tolist())
        big_too = rng.random() < tuning.big_share
        found = [
            k
            for k in sorted(chosen)
            if self._movable[k]
            and self._rests[k] < self.moves
            and (big_too or len(board.own[k]) <= tuning.big)
        ]
        if len(found) > tuning.movers:
            found = sorted(rng.sample(found, tuning.movers))
        return found

    def _options(self, key: int) -> list[_Option]:
        board = self._board
        here = int(board.point[key])
        cost = board.score(key)
        now = float(cost[here])
        cost[here] = np.inf
        best = float(cost.min())
        if not np.isfinite(best):
            return []
        point = self._tie(key, np.flatnonzero(cost == best))
        return [_Option(best - now, key, point)]

    def _tie(self, key: int, points: Ints) -> int:
        rng, tuning = self._rng, self._tuning
        if len(points) == 1:
            return int(points[0])
        if rng.random() >= tuning.by_volume:
            return int(points[rng.randrange(len(points))])
        if len(points) > tuning.ties:
            points = np.array(sorted(rng.sample(points.tolist(), tuning.ties)), dtype=np.int64)
        volumes = self._board.volumes(key, points, self._tuning.sampled)
        return int(points[int(np.argmin(volumes))])

    def _apply(self, option: _Option) -> None:
        self._rests[option.key] = self.moves + self._rng.randint(*self._tuning.tabu)
        self._board.move(option.key, option.point)

    # --- weights ---------------------------------------------------------------------------

    def _grow_weights(self) -> None:
        tuning, board = self._tuning, self._board
        quiet = self.moves - self._best_at
        if quiet < tuning.patience or (quiet - tuning.patience) % tuning.every:
            return
        excess = np.flatnonzero(board.excess() > 0)
        if not len(excess):
            return
        opened = np.unique(np.concatenate([board.wrongly_opened(int(k)) for k in excess]))
        if float(board.heft[opened].max()) >= tuning.heaviest:
            self._lighten_locks()
        else:
            board.burden(opened, board.heft[opened] + 1)
        if float(board.weight[excess].max()) >= tuning.heaviest:
            self._lighten_keys()
        else:
            board.reweigh(excess, board.weight[excess] + 1)

    def _lighten_keys(self) -> None:
        heavy = np.flatnonzero(self._board.weight > 1)
        self._board.reweigh(heavy, np.ones(len(heavy), dtype=np.float32))

    def _lighten_locks(self) -> None:
        heavy = np.flatnonzero(self._board.heft > 1)
        self._board.burden(heavy, np.ones(len(heavy), dtype=np.float32))

    def _show_best(self) -> None:
        """Put the best design on the board, all weights one; remember where the search stood."""
        board = self._board
        self._halt = _Halt(board.point.copy(), board.weight.copy(), board.heft.copy())
        self._lighten_keys()
        self._lighten_locks()
        self._move_to(self.best)

    def _resume(self) -> None:
        """Go back to where the search stood: beginning anew at the best would throw away the
        weights, and with them the way out of its valley.
        """
        if self._halt is None:
            return
        board, halt, self._halt = self._board, self._halt, None
        self._move_to(halt.point)
        heavy = np.flatnonzero(halt.weight > 1)
        board.reweigh(heavy, halt.weight[heavy])
        heavy = np.flatnonzero(halt.heft > 1)
        board.burden(heavy, halt.heft[heavy])

    def _move_to(self, points: Ints) -> None:
        for key in np.flatnonzero(self._board.point != points).tolist():
            self._board.move(key, int(points[key]))
