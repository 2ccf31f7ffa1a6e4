"""Repair cut by cut: what it counts, what it respects, what it finds, and that it repeats."""

import random
from dataclasses import replace

import pytest

from bench.charts import dense, problem_chart
from bench.engine_infer import problem_of as unfixed
from pinloom.core.chart import AccessChart
from pinloom.core.request import DesignRequest
from pinloom.design.check import Checker
from pinloom.design.cutwise import Cutwise
from pinloom.design.problem import DesignProblem, from_request, wrong_pairs
from pinloom.design.starts import begin
from pinloom.design.symbols import symbol_space
from pinloom.hardware import load_format
from tests.oracle.charts import PLAIN, tiny_format


def problem_of(chart: AccessChart, hardware: str = "us-6x10-015") -> DesignProblem:
    """A chart on a shipped format."""
    made = load_format(hardware).format
    assert made is not None
    return unfixed(chart, made)


def small(seed: int, least_step: int = 1) -> DesignProblem:
    """Eight keys and seven doors at random on three chambers of three symbols."""
    fmt = tiny_format(3, 3 * least_step, least_step=least_step)
    chart = dense(7, 8, 0.4, seed).chart(seed)
    return from_request(
        DesignRequest(
            chart=chart,
            key_format=fmt,
            cylinder_formats=(fmt,) * len(chart.doors),
            fixed=(None,) * len(chart.keys),
            rules=PLAIN,
        )
    )


def levels(search: Cutwise) -> tuple[tuple[int, ...], ...]:
    """Where the search stands, in levels."""
    return tuple(
        tuple(search.space.levels[p][s] for p, s in enumerate(word)) for word in search.word
    )


@pytest.mark.parametrize("step", [1, 2])
def test_every_move_weighs_what_a_recount_says(step: int) -> None:
    """For every cut of every key, what a move is said to change is what recounting all keys at all
    doors from nothing says, before weights grow; and so after each of some moves.
    """
    for seed in range(6):
        problem = small(seed, step)
        space = symbol_space(problem)
        rng = random.Random(seed)
        start = [[rng.randrange(3) for _ in range(3)] for _ in range(problem.keys)]
        search = Cutwise(problem, space, start, seed)
        for _ in range(3):
            before = len(wrong_pairs(problem, levels(search)))
            assert search.wrong_now() == before
            for key, p, symbol in [(k, p, s) for k in range(8) for p in range(3) for s in range(3)]:
                if symbol == search.word[key][p]:
                    continue
                words = [list(word) for word in levels(search)]
                words[key][p] = space.levels[p][symbol]
                after = len(wrong_pairs(problem, tuple(tuple(w) for w in words)))
                assert search.change(key, p, symbol) == after - before
            key, p = rng.randrange(8), rng.randrange(3)
            search.make(key, p, (search.word[key][p] + 1) % 3)


@pytest.mark.parametrize(("name", "seed"), [("D30", 0), ("D30", 1), ("D60", 0), ("D60", 1)])
def test_charts_without_structure_are_designed(name: str, seed: int) -> None:
    """30 keys at .2 and 60 keys at .1 from nothing; the check of the engine and the plain recount
    find nothing wrong, and the same seed gives the same keys.
    """
    problem = problem_of(problem_chart(name, seed))
    runs = []
    for _ in range(2):
        search = begin(problem, seed)
        assert search is not None
        assert search.run(20_000)
        runs.append(search.bittings())
    assert runs[0] == runs[1]
    assert not Checker(problem).wrong(runs[0])
    assert not wrong_pairs(problem, runs[0])


def test_shares_of_a_search_make_no_difference() -> None:
    """Run in many slices, the search makes the same moves as in one."""
    problem = problem_of(problem_chart("D60", 2))
    whole, parts = begin(problem, 3), begin(problem, 3)
    assert whole is not None
    assert parts is not None
    whole.run(700)
    while parts.moves < whole.moves:
        parts.run(min(50, whole.moves - parts.moves))
    assert (whole.word, whole.best, whole.best_wrong) == (parts.word, parts.best, parts.best_wrong)


def test_rules_are_kept_on_the_way() -> None:
    """With two master pins a chamber at most, some cuts given and bittings to avoid, no key and no
    stack ever breaks a rule, whatever else is still wrong.
    """
    problem = replace(problem_of(problem_chart("D60", 0)), max_masters=2)
    given = (4, None, 4, 5, None, 5)
    problem = replace(
        problem,
        fixed=(given, *problem.fixed[1:]),
        avoid=((4, 5, 4, 5, 4, 5),),
    )
    search = begin(problem, 0)
    assert search is not None
    for _ in range(20):
        search.run(20)
        wrong = Checker(problem).wrong(levels(search))
        assert not wrong.stacks
        assert not wrong.keys
    assert search.best_wrong < 300


def test_keys_of_the_same_doors_are_told_apart() -> None:
    """Keys with one and the same row get cuts of their own."""
    chart = AccessChart.build(
        dense(6, 6, 0.4, 1).chart().doors,
        dense(6, 6, 0.4, 1).chart().keys,
        {
            door.name: [key.name for key in dense(6, 6, 0.4, 1).chart().keys[: n % 2 + 2]]
            for n, door in enumerate(dense(6, 6, 0.4, 1).chart().doors)
        },
    )
    problem = problem_of(chart)
    search = begin(problem, 0)
    assert search is not None
    assert search.run(2_000)
    assert len(set(search.bittings())) == 6
    assert not Checker(problem).wrong(search.bittings())


def test_a_given_cut_between_symbols_is_left_to_others() -> None:
    """Cuts one step apart, both given, do not stand in one row of symbols: no search, no wrong
    answer.
    """
    problem = problem_of(dense(6, 6, 0.4, 1).chart())
    odd = replace(problem, fixed=((4,) * 6, (5,) * 6, *problem.fixed[2:]))
    assert begin(odd, 0) is None
