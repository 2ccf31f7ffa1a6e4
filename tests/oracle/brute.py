"""Brute force for tiny locks: all bittings of all keys, by plain backtracking.

Written from the two rules of opening alone, on sets of words; it shares no code with the engine. A
word is a bitting, a set of words is an integer with one bit a word. A lock's box only grows as its
keys are placed, so a refused key that is inside stays inside and the branch ends.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import product

Word = tuple[int, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class TinyLock:
    """Keys that open it, positions with pins, keys that cannot enter."""

    openers: tuple[int, ...]
    active: tuple[int, ...]
    outside: frozenset[int] = frozenset()


@dataclass(frozen=True, slots=True, kw_only=True)
class Tiny:
    """A design task in numbers. ``given[k]`` = levels or None by position."""

    positions: int
    levels: int
    macs: int
    least_step: int
    pins: frozenset[int]
    most_masters: int
    keys: int
    locks: tuple[TinyLock, ...]
    given: tuple[tuple[int | None, ...] | None, ...] = ()
    all_equal_refused: bool = True


def words_of(task: Tiny, key: int) -> list[Word]:
    """Bittings that one key may have."""
    given = (task.given[key] if task.given else None) or (None,) * task.positions
    whole = None not in given
    return [
        word
        for word in product(range(task.levels), repeat=task.positions)
        if all(abs(a - b) <= task.macs for a, b in zip(word, word[1:], strict=False))
        and all(g is None or g == w for g, w in zip(given, word, strict=True))
        and (whole or not task.all_equal_refused or len(set(word)) > 1 or task.positions == 1)
    ]


def solve(task: Tiny, limit: int = 500_000) -> list[Word] | None:
    """A design or None. Raises RuntimeError beyond ``limit`` nodes rather than guess."""
    if any(set(lock.openers) & lock.outside for lock in task.locks):
        return None
    return _Backtrack(task, limit).run()


class _Backtrack:
    """Keys one by one, the one with the fewest words left first.

    ``left[k]`` = words still open to key k, as bits. Words in the box of a lock so far are struck
    off the lists of the keys that it refuses.
    """

    def __init__(self, task: Tiny, limit: int) -> None:
        self.task, self.limit, self.nodes = task, limit, 0
        self.words = list(product(range(task.levels), repeat=task.positions))
        self.number = {word: i for i, word in enumerate(self.words)}
        self.near = [
            [
                sum(
                    1 << i
                    for i, word in enumerate(self.words)
                    if abs(word[p] - level) < task.least_step
                )
                for level in range(task.levels)
            ]
            for p in range(task.positions)
        ]
        self.placed: dict[int, Word] = {}

    def run(self) -> list[Word] | None:
        left = [
            sum(1 << self.number[word] for word in words_of(self.task, key))
            for key in range(self.task.keys)
        ]
        if not self._go(left):
            return None
        return [self.placed[k] for k in range(self.task.keys)]

    def _go(self, left: list[int]) -> bool:
        free = [k for k in range(self.task.keys) if k not in self.placed]
        if not free:
            return True
        key = min(free, key=lambda k: (left[k].bit_count(), k))
        for number, word in enumerate(self.words):
            if not left[key] >> number & 1:
                continue
            self.nodes += 1
            if self.nodes > self.limit:
                raise RuntimeError("too large for brute force")
            self.placed[key] = word
            smaller = self._strike(left, key, number)
            if smaller is not None and self._go(smaller):
                return True
            del self.placed[key]
        return False

    def _strike(self, left: list[int], key: int, number: int) -> list[int] | None:
        """What is left to the others once a key is placed; None when somebody has nothing."""
        new = [words & ~(1 << number) for words in left]
        for lock in self.task.locks:
            if key not in lock.openers:
                continue
            if not lock_fits(self.task, lock, self.placed):
                return None
            box = -1
            for p in lock.active:
                passing = 0
                for k in lock.openers:
                    if k in self.placed:
                        passing |= self.near[p][self.placed[k][p]]
                box &= passing
            for k in range(self.task.keys):
                if k not in lock.openers and k not in lock.outside:
                    new[k] &= ~box
        if any(k not in self.placed and not words for k, words in enumerate(new)):
            return None
        return new


def lock_fits(task: Tiny, lock: TinyLock, placed: dict[int, Word]) -> bool:
    """Whether a lock is right so far: pins once all its keys are placed, refusals at once."""
    inside = [placed[k] for k in lock.openers if k in placed]
    if not inside:
        return True
    if any(k in lock.outside for k in lock.openers):
        return False
    if len(inside) == len(lock.openers):
        for p in lock.active:
            levels = sorted({word[p] for word in inside})
            if len(levels) - 1 > task.most_masters:
                return False
            if any(b - a not in task.pins for a, b in zip(levels, levels[1:], strict=False)):
                return False
    for key, word in placed.items():
        if key in lock.openers or key in lock.outside:
            continue
        if all(min(abs(word[p] - w[p]) for w in inside) < task.least_step for p in lock.active):
            return False
    return True


def is_right(task: Tiny, words: Sequence[Word]) -> bool:
    """Whether a finished design obeys every rule."""
    placed = dict(enumerate(words))
    return (
        len(set(words)) == len(words)
        and all(words[k] in words_of(task, k) for k in range(task.keys))
        and all(lock_fits(task, lock, placed) for lock in task.locks)
    )
