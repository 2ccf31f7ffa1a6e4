"""Rules of a single key and a single stack, looked up by symbols: tables for searches that ask them
some hundred thousand times a second.
"""

from collections.abc import Sequence

import numpy as np

from pinloom.design.problem import DesignProblem
from pinloom.design.rules import Legal
from pinloom.design.symbols import SymbolSpace


class LegalPoints:
    """Which bittings a key may have, by its symbols."""

    def __init__(self, problem: DesignProblem, space: SymbolSpace) -> None:
        legal, regular = Legal(problem), space.regular_mask()
        self._strides = space.strides().tolist()
        self._free = (legal.mask(None, space.levels).reshape(-1) & regular).tobytes()
        self._own: dict[int, bytes] = {}
        self._points: dict[bytes, list[int]] = {}
        for key, cuts in enumerate(problem.fixed):
            if cuts is not None or key >= problem.chart_keys:
                mask = legal.mask(key, space.levels).reshape(-1)
                self._own[key] = mask.tobytes()

    def mask(self, key: int) -> bytes:
        """One byte a point."""
        return self._own.get(key, self._free)

    def points(self, key: int) -> list[int]:
        """All points that a key may have, ascending."""
        own = self.mask(key)
        if own not in self._points:
            found = np.flatnonzero(np.frombuffer(own, dtype=np.bool_))
            self._points[own] = found.tolist()
        return self._points[own]

    def choose(self, key: int, word: Sequence[int], p: int, symbols: list[int]) -> list[int]:
        """Those symbols that the key may have in a position, its other cuts as they are."""
        mask, stride = self.mask(key), self._strides[p]
        base = sum(s * n for s, n in zip(word, self._strides, strict=True)) - word[p] * stride
        return [s for s in symbols if mask[base + s * stride]]


class Stacks:
    """Which sets of symbols a lock may split on, as bit masks by position."""

    def __init__(self, problem: DesignProblem, space: SymbolSpace) -> None:
        self.ok = [
            [_can_be_made(problem, levels, mask) for mask in range(1 << len(levels))]
            for levels in space.levels
        ]
        self.can_fail = [not all(column) for column in self.ok]

    def hold(self, problem: DesignProblem, words: Sequence[Sequence[int]]) -> bool:
        """Whether every stack of a start can be made."""
        for lock in problem.locks:
            for p in lock.active if any(self.can_fail) else ():
                if not self.ok[p][_mask(words, lock.openers, p)]:
                    return False
        return True


def _can_be_made(problem: DesignProblem, levels: Sequence[int], mask: int) -> bool:
    split = [level for s, level in enumerate(levels) if mask >> s & 1]
    gaps = {b - a for a, b in zip(split, split[1:], strict=False)}
    return gaps <= problem.pin_sizes and len(split) - 1 <= problem.max_masters


def _mask(words: Sequence[Sequence[int]], keys: Sequence[int], position: int) -> int:
    mask = 0
    for key in keys:
        mask |= 1 << words[key][position]
    return mask
