"""The board's scores and counts against plain recounting, and a search cut into shares."""

import random
from itertools import combinations

import numpy as np
import pytest

from bench.charts import problem_chart
from pinloom.core.chart import AccessChart, Door, Key
from pinloom.core.request import DesignRequest
from pinloom.design.boxes import Board
from pinloom.design.problem import from_request
from pinloom.design.repair import Repair
from pinloom.design.rules import Legal
from pinloom.design.symbols import symbol_space
from pinloom.hardware import load_format
from tests.oracle.charts import PLAIN, tiny_format


def tiny_board(seed: int, least_step: int) -> tuple[Board, random.Random]:
    """Six keys and five doors at random on three chambers, every key somewhere, weights uneven."""
    rng = random.Random(seed)
    rows = [sorted(rng.sample(range(6), rng.randint(1, 4))) for _ in range(5)]
    chart = AccessChart.build(
        [Door(name=f"d{n}") for n in range(5)],
        [Key(name=f"k{k}") for k in range(6)],
        {f"d{n}": [f"k{k}" for k in row] for n, row in enumerate(rows)},
    )
    fmt = tiny_format(3, 3 * least_step, least_step=least_step)
    problem = from_request(
        DesignRequest(
            chart=chart,
            key_format=fmt,
            cylinder_formats=(fmt,) * 5,
            fixed=(None,) * 6,
            rules=PLAIN,
        )
    )
    board = Board(problem, symbol_space(problem), Legal(problem))
    board.load({key: rng.randrange(board.size) for key in range(6)})
    return board, rng


def _weighted(board: Board) -> float:
    """Wrong openings by key weight times lock heft and pairs of twins, counted one by one."""
    cuts = [board.symbols(int(point)).tolist() for point in board.point]
    total = 0.0
    for number, row in enumerate(board.rows):
        used = [{cuts[k][p] for k in row.tolist()} for p in range(3)]
        for key, word in enumerate(cuts):
            if key not in row and all(word[p] in used[p] for p in range(3)):
                total += float(board.weight[key]) * float(board.heft[number])
    twins = [a == b for a, b in combinations(board.point.tolist(), 2)]
    return total + float(sum(twins))


def _burdened(seed: int, least_step: int) -> tuple[Board, random.Random]:
    board, rng = tiny_board(seed, least_step)
    weights = [rng.randint(1, 5) for _ in range(6)]
    board.reweigh(np.arange(6), np.array(weights, dtype=np.float32))
    hefts = [rng.randint(1, 5) for _ in board.rows]
    board.burden(np.arange(len(board.rows)), np.array(hefts, dtype=np.float32))
    return board, rng


@pytest.mark.parametrize("least_step", [1, 2])
def test_a_score_is_the_change_of_the_weighted_count(least_step: int) -> None:
    """For every key of random tiny charts and every point, the score differs from that of the
    key's own point by what recounting says, with uneven weights of keys and locks.
    """
    compared = 0
    for seed in range(12):
        board, _ = _burdened(seed, least_step)
        for key in range(6):
            cost, here = board.score(key), int(board.point[key])
            before = _weighted(board)
            for point in np.flatnonzero(np.isfinite(cost)).tolist():
                board.move(key, point)
                assert _weighted(board) - before == cost[point] - cost[here], (seed, key, point)
                compared += 1
            board.move(key, here)
    assert compared == 12 * 6 * 27


def test_moves_keep_the_board() -> None:
    """After many moves and changes of weights, a board equals one loaded afresh, and without
    weights it counts what recounting counts.
    """
    for seed in range(6):
        board, rng = _burdened(seed, 1)
        for _ in range(60):
            board.move(rng.randrange(6), rng.randrange(board.size))
            lock = np.array([rng.randrange(len(board.rows))])
            board.burden(lock, np.array([rng.randint(1, 9)], dtype=np.float32))
        board.reweigh(np.arange(6), np.ones(6, dtype=np.float32))
        board.burden(np.arange(len(board.rows)), np.ones(len(board.rows), dtype=np.float32))
        fresh = Board(board.problem, board.space, board.legal)
        fresh.load(dict(enumerate(board.point.tolist())))
        assert np.array_equal(fresh.open, board.open)
        assert np.array_equal(fresh.pull, board.pull)
        assert np.array_equal(board.pull, board.open)
        assert np.array_equal(fresh.keys, board.keys)
        assert board.wrong() == _weighted(board)


def test_shares_do_not_change_a_search() -> None:
    """A search that was halted and picked up again takes the same way as one that was not: random
    24 x 24 at half density, where weights have to grow.
    """
    fmt = load_format("us-6x10-015").format
    assert fmt is not None
    chart = problem_chart("D24")
    problem = from_request(
        DesignRequest(chart=chart, key_format=fmt, cylinder_formats=(fmt,) * 24, fixed=(None,) * 24)
    )
    found = []
    for shares in ((700,), (400, 150, 150)):
        board = Board(problem, symbol_space(problem), Legal(problem))
        rng = random.Random(5)
        allowed = np.flatnonzero(board.veto(0) == 0).tolist()
        board.load(dict(enumerate(rng.sample(allowed, 24))))
        repair = Repair(board, rng)
        for share in shares:
            repair.run(share if len(shares) == 1 else min(share, 700 - repair.steps))
        assert board.point.tolist() == repair.best.tolist()
        assert board.weight.max() == board.heft.max() == 1
        assert repair.moves > 80
        found.append((repair.steps, repair.best_wrong, repair.best.tolist()))
    assert found[0] == found[1]
