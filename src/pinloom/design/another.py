"""Another seed, another design of equal merit: the same design moved within its chambers.

Rules of the game. Moving all levels of one position alike (up, down, or mirrored about the middle)
leaves every distance in that position as it was. So every lock splits on as many levels as before,
with the same master pins, refuses the same keys by the same steps, and a layout stays true with its
levels moved likewise. What may break are the rules about single keys (MACS, given cuts, bittings to
avoid, key rules) and the build-up of cores, so the result is checked in full before it counts.

Seed 0 leaves a design as it is. A structured search puts the top master in the middle of the depths
whatever the seed; without this step the systems of two buildings would have most cuts in common.
"""

from collections.abc import Callable, Sequence
from itertools import pairwise
from random import Random

import numpy as np
from numpy.typing import NDArray

from pinloom.core.bitting import Bitting
from pinloom.core.job import Layout
from pinloom.core.keyrules import breaches
from pinloom.design.check import Checker
from pinloom.design.problem import DesignProblem
from pinloom.design.rules import advised

DRAWS = 200
CHECKED = 5  # of the best draws
EVEN = 0.5  # how often a position is mirrored
MOST_PAIRS = 20_000_000  # key x lock pairs up to which a moved design is checked

Move = tuple[bool, int]  # mirrored, then so many steps deeper
Ints = NDArray[np.int64]


def another(
    problem: DesignProblem,
    bittings: tuple[Bitting, ...],
    layout: Layout | None,
    seed: int,
    kinds: Callable[[tuple[Bitting, ...]], int] | None = None,
) -> tuple[Bitting, ...]:
    """The design of a seed; the same one where no move of it is right. ``layout`` = the one that it
    follows, if any. ``kinds`` counts what must not grow and does when positions move apart: kinds
    of pins.
    """
    if seed == 0 or not bittings or problem.keys * len(problem.locks) > MOST_PAIRS:
        return bittings
    random = Random(f"another {seed}")  # noqa: S311 (a choice among designs, no secret)
    words = np.array(bittings, dtype=np.int64)
    columns = _columns(words, layout)
    steep = _steep(columns, problem.macs)
    ranked: list[tuple[int, int, tuple[Move, ...]]] = []
    for number in range(DRAWS):
        together = kinds is not None or number % 4 == 0  # full columns can only move together
        moves = _draw_all(problem, columns, random, together=together)
        beside = [
            [_one(cut, one, problem.levels) for cut in column]
            for column, one in zip(columns, moves, strict=True)
        ]
        new = _apply(words, moves, problem.levels)
        if _steep(beside, problem.macs) <= steep and (new != words).any():
            ranked.append((_faults(problem, new), number, moves))
    checker = Checker(problem)
    for _, _, moves in sorted(ranked)[:CHECKED]:
        new_bittings = move(bittings, moves, problem.levels)
        if kinds is not None and kinds(new_bittings) > kinds(bittings):
            continue
        if not checker.wrong(new_bittings):
            return new_bittings
    return bittings


def _columns(words: Ints, layout: Layout | None) -> list[list[int]]:
    """Per position, the cuts in use and those that the layout keeps for further keys."""
    columns = [set(words[:, p].tolist()) for p in range(words.shape[1])]
    for level in layout.levels if layout else ():
        for chamber, cuts in zip(level.chambers, level.levels, strict=True):
            columns[chamber].update(cuts)
    if layout is not None:
        for column, cut in zip(columns, layout.master, strict=True):
            column.add(cut)
    return [sorted(column) for column in columns]


def _steep(columns: Sequence[Sequence[int]], macs: int) -> int:
    """Pairs of neighbouring cuts that MACS forbids: never more than before, so that what a layout
    leaves for further keys can still be cut.
    """
    return sum(abs(a - b) > macs for x, y in pairwise(columns) for a in x for b in y)


def move(bittings: tuple[Bitting, ...], moves: Sequence[Move], levels: int) -> tuple[Bitting, ...]:
    """The design with its cuts moved."""
    new = _apply(np.array(bittings, dtype=np.int64), moves, levels)
    return tuple(tuple(word) for word in new.tolist())


def _draw_all(
    problem: DesignProblem, columns: Sequence[Sequence[int]], random: Random, *, together: bool
) -> tuple[Move, ...]:
    """A move for every position, or the same for all."""
    if not together:
        return tuple(_draw(problem, column, random) for column in columns)
    return (_draw(problem, sorted(set().union(*columns)), random),) * len(columns)


def _draw(problem: DesignProblem, column: Sequence[int], random: Random) -> Move:
    """Any move that keeps the position's levels within the format."""
    mirrored = random.random() < EVEN
    low, high = column[0], column[-1]
    if mirrored:
        low, high = problem.levels - 1 - high, problem.levels - 1 - low
    by = random.randint(-low, problem.levels - 1 - high)
    return mirrored, by


def _apply(words: Ints, moves: Sequence[Move], levels: int) -> Ints:
    new = words.copy()
    for p, (mirrored, by) in enumerate(moves):
        if mirrored:
            new[:, p] = levels - 1 - new[:, p]
        new[:, p] += by
    return new


def _one(cut: int, one: Move, levels: int) -> int:
    mirrored, by = one
    return (levels - 1 - cut if mirrored else cut) + by


def _faults(problem: DesignProblem, words: Ints) -> int:
    """How many advised rules the first keys break, to choose keys that look well."""
    rules = advised(problem.rules)
    return sum(
        len(breaches(tuple(word), problem.levels, problem.bow_first, rules))
        for word in words[:40].tolist()
    )
