"""Where a repair cut by cut begins: at a design that is nearly right, or at random bittings."""

import random
from collections.abc import Iterator, Sequence

import numpy as np

from pinloom.core.bitting import Bitting
from pinloom.design.cutwise import Cutwise
from pinloom.design.pointrules import LegalPoints, Stacks
from pinloom.design.problem import DesignProblem
from pinloom.design.symbols import SymbolSpace, symbol_counts, symbol_space

LARGEST = 1_200_000  # points of a symbol space


def begin(
    problem: DesignProblem, seed: int, start: Sequence[Bitting] | None = None
) -> Cutwise | None:
    """A search from a design that is nearly right, or from nothing. None where it cannot search:
    given cuts that stand between symbols, no legal start, or too large a space.
    """
    counts = symbol_counts(problem)
    space = symbol_space(problem, counts[-1])
    if space.size > LARGEST or not all(
        np.array_equal(space.near(p), np.eye(n, dtype=bool)) for p, n in enumerate(space.shape)
    ):
        return None
    legal, stacks = LegalPoints(problem, space), Stacks(problem, space)
    for words in _starts(problem, space, legal, seed, start):
        if stacks.hold(problem, words):
            return Cutwise(problem, space, words, seed)
    return None


def _starts(
    problem: DesignProblem,
    space: SymbolSpace,
    legal: LegalPoints,
    seed: int,
    start: Sequence[Bitting] | None,
) -> Iterator[list[list[int]]]:
    """Symbols by key to begin with: as given, at random, all keys as much alike as may be."""
    if start is not None:
        points = [space.point_of(bitting) for bitting in start]
        if all(p is not None and legal.mask(k)[p] for k, p in enumerate(points)):
            yield [_symbols(space, p) for p in points if p is not None]
    rng = random.Random(f"start {seed}")  # noqa: S311 (a search, no secret)
    open_to = [legal.points(key) for key in range(problem.keys)]
    if all(open_to):
        yield [_symbols(space, points[rng.randrange(len(points))]) for points in open_to]
        yield [_symbols(space, points[len(points) // 2]) for points in open_to]


def _symbols(space: SymbolSpace, point: int) -> list[int]:
    found: list[int] = []
    for stride in space.strides().tolist():
        symbol, point = divmod(point, stride)
        found.append(symbol)
    return found
