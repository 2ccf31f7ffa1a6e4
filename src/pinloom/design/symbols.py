"""Hardware reduced to a few symbols a position.

Theory. Depths that open each other (nearer than ``least_step``) form a path. Taking in every
position only levels that are pairwise ``least_step`` apart makes the lock *exact*: a cut is in a
lock's box or it is not, and every master pin is ``least_step`` or longer. Nothing is lost for
capacity: paths are perfect graphs, so the largest code over P positions has exactly
``symbols ** P`` words. What is lost are odd designs that mix levels, so "none found" among symbols
never means "impossible".

Where the lattice of one position starts is free. With two-step cuts, even levels in even
positions and odd levels in odd ones leave one neighbour pair that MACS may forbid instead of two.

Given cuts may lie off the lattice. They become additional symbols of their position that only the
given keys use; ``near`` says which symbols of a position open each other.
"""

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pinloom.core.bitting import Bitting
from pinloom.design.problem import DesignProblem

Bools = NDArray[np.bool_]
Ints = NDArray[np.int64]

#: points of a symbol space above which all-bittings scores get slow (about 1 ms a lock)
COMFORTABLE = 300_000


@dataclass(frozen=True, slots=True, kw_only=True)
class SymbolSpace:
    """Levels in use by position, in ascending order. A *point* is a flat index into their product,
    last position fastest. ``regular[p][s]`` = whether keys without given cuts may use symbol ``s``.
    """

    levels: tuple[tuple[int, ...], ...]
    regular: tuple[tuple[bool, ...], ...]
    least_step: int

    @property
    def shape(self) -> tuple[int, ...]:
        """Symbols by position."""
        return tuple(len(levels) for levels in self.levels)

    @property
    def size(self) -> int:
        """Number of points."""
        return int(np.prod(self.shape, dtype=np.int64))

    def strides(self) -> Ints:
        """Weight of each position in a point."""
        shape = self.shape
        return np.array([int(np.prod(shape[p + 1 :])) for p in range(len(shape))], dtype=np.int64)

    def near(self, position: int) -> Bools:
        """Which symbols of a position open each other, as a square matrix."""
        levels = np.array(self.levels[position])
        return np.asarray(np.abs(levels[:, None] - levels[None, :]) < self.least_step)

    def point_of(self, bitting: Sequence[int]) -> int | None:
        """The point of a bitting, or None when a level is no symbol."""
        point = 0
        for level, levels in zip(bitting, self.levels, strict=True):
            if level not in levels:
                return None
            point = point * len(levels) + levels.index(level)
        return point

    def bitting_of(self, point: int) -> Bitting:
        """The bitting of a point."""
        found: list[int] = []
        for levels in reversed(self.levels):
            point, symbol = divmod(point, len(levels))
            found.append(levels[symbol])
        return tuple(reversed(found))

    def regular_mask(self) -> Bools:
        """Points that keys without given cuts may have."""
        mask: Bools = np.ones(self.shape, dtype=bool)
        for p, flags in enumerate(self.regular):
            if not all(flags):
                shape = [1] * len(self.shape)
                shape[p] = len(flags)
                mask &= np.array(flags).reshape(shape)
        return mask.reshape(-1)


def symbol_space(problem: DesignProblem, most: int | None = None) -> SymbolSpace:
    """A symbol space of a problem with at most ``most`` regular symbols a position.

    Lattices follow the cuts given beforehand where there are any.
    """
    given: list[Counter[int]] = [Counter() for _ in range(problem.positions)]
    for cuts in problem.fixed:
        for p, level in enumerate(cuts or ()):
            if level is not None:
                given[p][level] += 1
    levels: list[tuple[int, ...]] = []
    regular: list[tuple[bool, ...]] = []
    for p in range(problem.positions):
        lattice = _lattice(problem, p, given[p], most)
        together = sorted({*lattice, *given[p]})
        levels.append(tuple(together))
        regular.append(tuple(level in lattice for level in together))
    return SymbolSpace(levels=tuple(levels), regular=tuple(regular), least_step=problem.least_step)


def symbol_counts(problem: DesignProblem) -> list[int]:
    """Symbols a position worth trying, fewest first: few make scores quick, many give room."""
    most = problem.symbols_most
    counts = [n for n in range(min(5, most), most + 1) if n == most or _fits(n, problem)]
    return counts if _fits(most, problem) or len(counts) == 1 else counts[:-1]


def _fits(symbols: int, problem: DesignProblem) -> bool:
    return bool(symbols**problem.positions <= COMFORTABLE * 4)


def _lattice(
    problem: DesignProblem, position: int, given: Counter[int], most: int | None
) -> list[int]:
    step, count = problem.least_step, problem.symbols_most

    def merit(start: int) -> tuple[int, int, int]:
        lattice = range(start, problem.levels, step)
        covered = sum(times for level, times in given.items() if level in lattice)
        return covered, len(lattice), -((start - position) % step)

    lattice = list(range(max(range(step), key=merit), problem.levels, step))
    wanted = count if most is None else min(count, most)
    return _thinned(lattice, wanted, given)


def _thinned(lattice: list[int], wanted: int, given: Counter[int]) -> list[int]:
    """``wanted`` levels of a lattice, given ones kept, else those in the middle, which MACS
    troubles least.
    """
    middle = (lattice[0] + lattice[-1]) / 2
    ranked = sorted(lattice, key=lambda level: (-given[level], abs(level - middle), level))
    return sorted(ranked[:wanted])
