"""Repair by neighbourhoods: what the solver says of a few freed keys is what trying all their cuts
says; a nearly right design is mended; what is held stays; and it repeats.
"""

import random
from dataclasses import replace
from itertools import product

import pytest

from bench.charts import problem_chart
from pinloom.core.bitting import Bitting
from pinloom.design.check import Checker
from pinloom.design.neighbourhoods import Neighbourhoods, complete
from pinloom.design.problem import DesignProblem, wrong_pairs
from pinloom.design.rules import Legal
from pinloom.design.sat import Meter, Verdict
from pinloom.design.starts import begin
from tests.design.test_cutwise import problem_of, small

Design = tuple[Bitting, ...]


def nearly_right(problem: DesignProblem, seed: int, moves: int = 100) -> Design:
    """What some moves of single cuts make of random keys."""
    search = begin(problem, seed)
    assert search is not None
    search.run(moves)
    return search.bittings()


def spoilt(problem: DesignProblem, design: Design, count: int, seed: int) -> Design:
    """The design with one other cut on some keys, as deep as others are there."""
    rng, legal = random.Random(seed), Legal(problem)
    words = list(design)
    for key in rng.sample(range(problem.keys), count):
        p = rng.randrange(problem.positions)
        others = {(*words[key][:p], word[p], *words[key][p + 1 :]) for word in design}
        allowed = [word for word in sorted(others) if legal.allows(key, word)]
        words[key] = rng.choice([word for word in allowed if word not in words])
    return tuple(words)


def completions(
    problem: DesignProblem, design: Design, free: list[int], tolerated: set[tuple[int, int]]
) -> bool:
    """Whether any cuts of the freed keys do, by trying all of them."""
    legal = Legal(problem)
    every = list(product(range(problem.levels), repeat=problem.positions))
    choices = [[word for word in every if legal.allows(key, word)] for key in free]
    touched = {n for n, lock in enumerate(problem.locks) if set(free) & set(lock.openers)}
    for some in product(*choices):
        words = list(design)
        for key, word in zip(free, some, strict=True):
            words[key] = word
        if len(set(words)) < len(words) or set(wrong_pairs(problem, tuple(words))) - tolerated:
            continue
        if all(_stacks_hold(problem, words, number) for number in touched):
            return True
    return False


def _stacks_hold(problem: DesignProblem, words: list[Bitting], number: int) -> bool:
    lock = problem.locks[number]
    for p in lock.active:
        levels = sorted({words[key][p] for key in lock.openers})
        steps = {b - a for a, b in zip(levels, levels[1:], strict=False)}
        if not steps <= problem.pin_sizes or len(levels) - 1 > problem.max_masters:
            return False
    return True


@pytest.mark.parametrize(("step", "masters", "macs"), [(1, 2, 2), (1, 1, 2), (1, 2, 1), (2, 2, 5)])
def test_answers_are_those_of_trying_all_cuts(step: int, masters: int, macs: int) -> None:
    """One or two freed keys of eight, all others held: a completion, or none, as brute force says;
    with all openings to be right and with some tolerated. Both answers come up.
    """
    said: list[bool] = []
    for seed in range(10):
        problem = replace(small(seed, step), max_masters=masters, macs=macs)
        rng = random.Random(seed)
        search = begin(problem, seed)
        if search is None:
            continue
        search.run(seed % 7 if masters > 1 else 40 * seed)
        design = search.bittings()
        wrong = wrong_pairs(problem, design)
        free = rng.sample(range(8), 2 if step == 1 else 1)
        for tolerated in (set(wrong[1:]), set(wrong), set()):
            answer = complete(problem, design, free, Meter(100_000), tolerated=tolerated)
            assert answer.verdict is not Verdict.UNKNOWN
            expected = completions(problem, design, free, tolerated)
            assert (answer.verdict is Verdict.SAT) == expected
            said.append(expected)
            if expected:
                found = answer.bittings
                assert all(found[k] == design[k] for k in range(8) if k not in free)
                assert set(wrong_pairs(problem, found)) <= tolerated
                assert not Checker(problem).wrong(found).stacks
    assert {True, False} == set(said)


def test_levels_limit_freed_keys_only() -> None:
    """Freed keys take the levels that are offered, beside their given ones; held keys may have
    any.
    """
    problem = replace(small(1), fixed=((None, 0, None), *(None,) * 7))
    design = nearly_right(problem, 1)
    levels = [(1, 2)] * 3
    for free in ([0], [0, 3], [0, 3, 5, 7]):
        wrong = wrong_pairs(problem, design)
        answer = complete(problem, design, free, Meter(9_999), tolerated=wrong, levels=levels)
        for key in free if answer.verdict is Verdict.SAT else ():
            word = answer.bittings[key]
            assert all(v in (1, 2) or (key, p, v) == (0, 1, 0) for p, v in enumerate(word))
    assert complete(problem, design, [0, 3], Meter(9_999), levels=[()] * 3).verdict is Verdict.UNSAT


def test_a_nearly_right_design_is_mended() -> None:
    """Three keys of a design get another cut; neighbourhoods make it right again, the same way each
    time, in one go or by slices, and a key whose cuts are given keeps them.
    """
    problem = problem_of(problem_chart("D30", 0))
    search = begin(problem, 0)
    assert search is not None
    assert search.run(20_000)
    given = search.bittings()[7]
    problem = replace(problem, fixed=tuple(given if k == 7 else None for k in range(problem.keys)))
    start = spoilt(problem, search.bittings(), 3, 1)
    start = tuple(given if key == 7 else word for key, word in enumerate(start))
    assert 3 <= len(wrong_pairs(problem, start)) <= 40
    ends = []
    for slices in (1, 1, 50):
        mender = Neighbourhoods(problem, start, 5)
        for _ in range(slices):
            done = mender.run(Meter(200_000 if slices == 1 else 20_000))
        assert done
        ends.append(mender.bittings)
        assert not Checker(problem).wrong(mender.bittings)
        assert not wrong_pairs(problem, mender.bittings)
        assert mender.bittings[7] == given
    assert ends[0] == ends[1]


def test_every_answer_is_nearer() -> None:
    """While it is mended, a design never opens anything new, and ever less."""
    problem = problem_of(problem_chart("D60", 1))
    mender = Neighbourhoods(problem, nearly_right(problem, 1, 100), 0)
    before = set(mender.wrong)
    begun = len(before)
    for _ in range(12):
        mender.run(Meter(1_000))
        assert set(mender.wrong) <= before
        assert set(mender.wrong) == set(wrong_pairs(problem, mender.bittings))
        before = set(mender.wrong)
    assert len(before) < begun
