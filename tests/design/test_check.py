"""The quick eye of the engine sees what plain loops over keys and locks see."""

import random
from dataclasses import replace
from itertools import pairwise

from pinloom.core.bitting import Bitting
from pinloom.design.check import BLOCK, Checker
from pinloom.design.problem import DesignProblem, Lock, wrong_pairs


def _problem(rng: random.Random, keys: int, locks: int) -> DesignProblem:
    positions, levels = rng.randint(2, 5), rng.randint(2, 6)
    made = []
    for _ in range(locks):
        openers = tuple(sorted(rng.sample(range(keys), rng.randint(0, min(keys, 5)))))
        rest = [key for key in range(keys) if key not in openers]
        everywhere = tuple(range(positions))
        some = tuple(sorted(rng.sample(everywhere, rng.randint(1, positions))))
        made.append(
            Lock(
                openers=openers,
                doors=(),
                active=some if rng.random() < 0.3 else everywhere,
                outside=frozenset(rng.sample(rest, min(len(rest), rng.choice([0, 0, 2])))),
            )
        )
    cuts = tuple(
        (*(0,) * (positions - 1), None) if rng.random() < 0.1 else None for _ in range(keys)
    )
    return DesignProblem(
        positions=positions,
        levels=levels,
        macs=rng.randint(1, levels),
        least_step=rng.randint(1, 2),
        pin_sizes=frozenset(rng.sample(range(1, levels), rng.randint(1, levels - 1))),
        max_masters=rng.randint(1, 3),
        keys=keys,
        locks=tuple(made),
        fixed=cuts if rng.random() < 0.3 else (None,) * keys,
    )


def _words(rng: random.Random, problem: DesignProblem) -> tuple[Bitting, ...]:
    return tuple(
        tuple(rng.randrange(problem.levels) for _ in range(problem.positions))
        for _ in range(problem.keys)
    )


def _bad_stacks(problem: DesignProblem, words: tuple[Bitting, ...]) -> list[tuple[int, int]]:
    """Chambers whose pins are not made or too many, one after the other."""
    found = []
    for number, lock in enumerate(problem.locks):
        for p in lock.active:
            levels = sorted({words[key][p] for key in lock.openers})
            steps = {b - a for a, b in pairwise(levels)}
            if not steps <= problem.pin_sizes or len(levels) - 1 > problem.max_masters:
                found.append((number, p))
    return found


def test_it_sees_what_plain_loops_see() -> None:
    """Wrong openings, bad stacks, twins and keys that break a rule, on small charts and on one of
    more locks than a block.
    """
    rng = random.Random(1)
    sizes = [(rng.randint(1, 12), rng.randint(0, 14)) for _ in range(200)]
    opened = 0
    for keys, locks in [*sizes, (90, 2 * BLOCK + 7)]:
        problem = _problem(rng, keys, locks)
        words, checker = _words(rng, problem), Checker(problem)
        wrong = checker.wrong(words)
        assert list(wrong.opens) == sorted(wrong_pairs(problem, words), key=lambda pair: pair[::-1])
        assert list(wrong.stacks) == _bad_stacks(problem, words)
        assert list(wrong.keys) == [k for k in range(keys) if checker.legal.breaks(k, words[k])]
        assert bool(wrong.twins) == (len(set(words)) < keys)
        opened += bool(wrong.opens)
    assert opened > 50


def test_some_keys_and_locks_are_a_smaller_chart() -> None:
    """Asked for some keys and locks, it answers as if there were no others."""
    rng = random.Random(2)
    for _ in range(100):
        problem = _problem(rng, rng.randint(2, 12), rng.randint(1, 12))
        words = _words(rng, problem)
        keys = sorted(rng.sample(range(problem.keys), rng.randint(0, problem.keys)))
        locks = sorted(rng.sample(range(len(problem.locks)), rng.randint(0, len(problem.locks))))
        left = [
            replace(lock, openers=tuple(k for k in lock.openers if k in keys) * (n in locks))
            for n, lock in enumerate(problem.locks)
        ]
        smaller = replace(problem, locks=tuple(left))
        wanted = {(k, n) for k, n in wrong_pairs(smaller, words) if k in keys}
        wanted = {(k, n) for k, n in wanted if k not in problem.locks[n].openers}
        assert set(Checker(problem).opens(words, keys=keys, locks=locks)) == wanted
