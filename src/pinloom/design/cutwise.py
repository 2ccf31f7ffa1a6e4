"""Repair cut by cut: local search in which a move changes one cut of one key.

Theory of operation. Among symbols (``symbols``) a key is kept out of a lock by every position where
none of the lock's own keys has its cut. A lock is *hit* by a symbol where one of its keys has it.
Everything a move changes follows from two tables of bit sets, by position and symbol: the keys that
hold the symbol, and the locks it hits (once, or at all). So a move is weighed by a few operations
on whole numbers as long as the chart is wide, however many doors there are:

- the moving key loses the locks that only this position kept it out of and that the new symbol
  hits, and gains those it opened wrongly and that the new symbol does not hit;
- a lock of its own that nobody else hits with the old symbol lets go of the keys that hold it;
- a lock of its own that the new symbol did not hit takes in the keys that hold it and that only
  this position kept out.

One move. Take a wrong opening at random. Weigh every cut of that key that would end it, and where
a single key of the lock is to blame for a hit, every other cut of that one. Make the best move,
uphill if need be; the cut it left rests for some moves. When no move is downhill, a wrong opening
grows heavier by one. Weights sit on single openings, not on keys or locks, and are what drives the
search out of its valleys.

Against scoring all bittings of one key (``boxes``), a move here sees less and costs a hundredth; on
charts without structure, and where some hundred openings are left of a structured design, that is
by far the better bargain. Stacks that no pins make and bittings that a key may not have are never
entered, so a start must be free of them. Keys that open the same doors are told apart by a lock of
each that only these others must not open.

All choices come from one seeded generator; a run repeats exactly.
"""

import random
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

from pinloom.core.bitting import Bitting
from pinloom.design.pointrules import LegalPoints, Stacks
from pinloom.design.problem import DesignProblem, locks_of
from pinloom.design.symbols import SymbolSpace

MOVES = 10  # make one step of a budget: about as long as scoring one key over all bittings


@dataclass(frozen=True, slots=True, kw_only=True)
class Tuning:
    """Settings of the search, found by measurement."""

    rest: tuple[int, int] = (1, 4)  # moves for which a cut is not taken back
    big: int = 300  # keys of more locks move rarely: weighing them is dear
    big_share: float = 0.015
    grown: int = 1  # wrong openings that grow heavier in a move that finds no way down


class Cutwise:
    """Keys with their symbols, and a search on them. ``run`` may be called again.

    ``word`` = symbols by key where the search stands; ``best`` = those of the nearest design seen,
    ``best_wrong`` = its wrong openings.
    """

    def __init__(
        self,
        problem: DesignProblem,
        space: SymbolSpace,
        start: Sequence[Sequence[int]],
        seed: int,
        tuning: Tuning | None = None,
    ) -> None:
        """``start``: symbols by key, free of faulty stacks and bittings."""
        self.problem, self.space = problem, space
        self._tuning = tuning or Tuning()
        self._rng = random.Random(f"cut by cut {seed}")  # noqa: S311 (a search, no secret)
        self.moves = 0
        self._legal = LegalPoints(problem, space)
        self._read_chart()
        self._load(start)
        self.best = [list(word) for word in self.word]
        self.best_wrong = len(self._wrong)

    # --- state -----------------------------------------------------------------------------

    def _read_chart(self) -> None:
        """Locks as bits of keys, keys as bits of locks."""
        problem = self.problem
        own, everyone = locks_of(problem), (1 << problem.keys) - 1
        self._openers = [_bits(lock.openers) for lock in problem.locks]
        self._keys_out = [
            everyone & ~openers & ~_bits(lock.outside) if openers else 0
            for openers, lock in zip(self._openers, problem.locks, strict=True)
        ]
        self._active = [lock.active for lock in problem.locks]
        used = _bits(n for n, openers in enumerate(self._openers) if openers)
        self._own = [_bits(locks) for locks in own]
        self._out = [used & ~locks for locks in self._own]
        for number, lock in enumerate(problem.locks):
            for key in lock.outside:
                self._out[key] &= ~(1 << number)
        rows: dict[tuple[int, ...], list[int]] = {}
        for key, locks in enumerate(own):
            rows.setdefault(tuple(locks), []).append(key)
        for keys in rows.values():  # told apart by a lock of each
            for key in keys if len(keys) > 1 else ():
                self._add_lock_of_one(key, keys)
        self._locks = len(self._openers)
        self._live = [
            _bits(n for n, active in enumerate(self._active) if p in active)
            for p in range(problem.positions)
        ]

    def _add_lock_of_one(self, key: int, keys: list[int]) -> None:
        bit = 1 << len(self._openers)
        self._openers.append(1 << key)
        self._keys_out.append(_bits(keys) & ~(1 << key))
        self._active.append(tuple(range(self.problem.positions)))
        self._own[key] |= bit
        for other in keys:
            if other != key:
                self._out[other] |= bit

    def _load(self, start: Sequence[Sequence[int]]) -> None:
        problem, shape = self.problem, self.space.shape
        self.word = [list(word) for word in start]
        self._holds = [[0] * n for n in shape]
        self._times = [[[0] * self._locks for _ in range(n)] for n in shape]
        self._hit = [[~live for _ in range(n)] for n, live in zip(shape, self._live, strict=True)]
        self._once = [[0] * n for n in shape]
        self._stacks = Stacks(problem, self.space)
        self._rests = [[[0] * n for n in shape] for _ in range(problem.keys)]
        self._heavy_of_key = [0] * problem.keys
        self._heavy_of_lock = [0] * self._locks
        self._extra: dict[tuple[int, int], int] = {}
        self._wrong: list[tuple[int, int]] = []
        self._where: dict[tuple[int, int], int] = {}
        self._wrong_of_key = [0] * problem.keys
        self._wrong_of_lock = [0] * self._locks
        for key, word in enumerate(self.word):
            for p, symbol in enumerate(word):
                self._enter(key, p, symbol)
        for key in range(problem.keys):
            self._note_key(key)

    def _enter(self, key: int, p: int, symbol: int) -> None:
        self._holds[p][symbol] |= 1 << key
        times = self._times[p][symbol]
        one = 0
        many = 0
        for lock in _members(self._own[key] & self._live[p]):
            times[lock] += 1
            if times[lock] == 1:
                one |= 1 << lock
            else:
                many |= 1 << lock
        self._hit[p][symbol] |= one
        self._once[p][symbol] = (self._once[p][symbol] | one) & ~many

    def _leave(self, key: int, p: int, symbol: int) -> None:
        self._holds[p][symbol] &= ~(1 << key)
        times = self._times[p][symbol]
        one = 0
        gone = 0
        for lock in _members(self._own[key] & self._live[p]):
            times[lock] -= 1
            if times[lock] == 1:
                one |= 1 << lock
            elif times[lock] == 0:
                gone |= 1 << lock
        self._hit[p][symbol] &= ~gone
        self._once[p][symbol] = (self._once[p][symbol] | one) & ~gone

    # --- wrong openings --------------------------------------------------------------------

    def _note_key(self, key: int) -> None:
        """Bring what a key opens wrongly up to date."""
        now = self._out[key]
        for p, symbol in enumerate(self.word[key]):
            now &= self._hit[p][symbol]
        changed = now ^ self._wrong_of_key[key]
        for lock in _members(changed):
            self._flip(key, lock, wrong=bool(now >> lock & 1))

    def _note_lock(self, lock: int) -> None:
        """Bring the keys that open a lock wrongly up to date."""
        now = self._keys_out[lock]
        for p in self._active[lock]:
            inside = 0
            for times, holds in zip(self._times[p], self._holds[p], strict=True):
                if times[lock]:
                    inside |= holds
            now &= inside
        changed = now ^ self._wrong_of_lock[lock]
        for key in _members(changed):
            self._flip(key, lock, wrong=bool(now >> key & 1))

    def _flip(self, key: int, lock: int, *, wrong: bool) -> None:
        self._wrong_of_key[key] ^= 1 << lock
        self._wrong_of_lock[lock] ^= 1 << key
        pair = key, lock
        if wrong:
            self._where[pair] = len(self._wrong)
            self._wrong.append(pair)
            return
        at, last = self._where.pop(pair), self._wrong.pop()
        if last != pair:
            self._wrong[at] = last
            self._where[last] = at

    # --- weighing --------------------------------------------------------------------------

    def _alone_of_key(self, key: int) -> list[int]:
        """By position, the locks that only this position keeps the key out of."""
        out = self._out[key]
        apart = [out & ~self._hit[p][s] for p, s in enumerate(self.word[key])]
        once = twice = 0
        for locks in apart:
            twice |= once & locks
            once |= locks
        return [locks & ~twice for locks in apart]

    def _alone_of_lock(self, lock: int) -> list[int]:
        """By position, the keys that only this position keeps out of the lock."""
        out = self._keys_out[lock]
        apart = [0] * self.problem.positions
        once = twice = 0
        for p in self._active[lock]:
            keys = 0
            for times, holds in zip(self._times[p], self._holds[p], strict=True):
                if not times[lock]:
                    keys |= holds
            keys &= out
            apart[p] = keys
            twice |= once & keys
            once |= keys
        return [keys & ~twice for keys in apart]

    def _weight_of_key(self, key: int, locks: int) -> int:
        total, heavy = locks.bit_count(), locks & self._heavy_of_key[key]
        for lock in _members(heavy) if heavy else ():
            total += self._extra[key, lock]
        return total

    def _weight_of_lock(self, lock: int, keys: int) -> int:
        total, heavy = keys.bit_count(), keys & self._heavy_of_lock[lock]
        for key in _members(heavy) if heavy else ():
            total += self._extra[key, lock]
        return total

    def _weigh(self, key: int, p: int, symbol: int, alone: list[int], freed: int, most: int) -> int:
        """How much heavier the wrong openings get with this symbol there; beyond ``most`` only that
        it is more.
        """
        hit = self._hit[p][symbol]
        change = self._weight_of_key(key, alone[p] & hit) - freed
        change -= self._weight_of_key(key, self._wrong_of_key[key] & ~hit)
        holders = self._holds[p][symbol]
        grown = self._own[key] & self._live[p] & ~hit
        while grown and change <= most:
            low = grown & -grown
            grown ^= low
            lock = low.bit_length() - 1
            found = self._views.get(lock)
            if found is None:
                found = self._views[lock] = self._alone_of_lock(lock)
            taken = found[p] & holders
            if taken:
                change += self._weight_of_lock(lock, taken)
        return change

    def _freed(self, key: int, p: int) -> int:
        """Weight of the wrong openings that end when a key leaves its symbol in a position."""
        old = self.word[key][p]
        holders, freed = self._holds[p][old], 0
        for lock in _members(self._own[key] & self._once[p][old]):
            wrong = self._wrong_of_lock[lock]
            if wrong:
                freed += self._weight_of_lock(lock, wrong & holders)
        return freed

    # --- search ----------------------------------------------------------------------------

    def run(self, moves: int) -> bool:
        """Search for at most so many further moves; True when nothing is wrong any more."""
        limit = self.moves + moves
        while self.best_wrong and self.moves < limit:
            self._move()
            if len(self._wrong) < self.best_wrong:
                self.best_wrong = len(self._wrong)
                self.best = [list(word) for word in self.word]
        return self.best_wrong == 0

    def bittings(self) -> tuple[Bitting, ...]:
        """The nearest design seen, in levels."""
        levels = self.space.levels
        return tuple(tuple(levels[p][s] for p, s in enumerate(word)) for word in self.best)

    def _move(self) -> None:
        self.moves += 1
        self._views: dict[int, list[int]] = {}
        least = 1 << 60
        ties: list[tuple[int, int, int]] = []
        candidates = sorted(self._candidates(), key=lambda found: self._own[found[0]].bit_count())
        for key, p, symbols in candidates:
            alone, freed = self._alone_of_key(key), self._freed(key, p)
            for symbol in symbols:
                change = self._weigh(key, p, symbol, alone, freed, least)
                if change < least:
                    least, ties = change, [(key, p, symbol)]
                elif change == least:
                    ties.append((key, p, symbol))
        if least >= 0:
            self._grow_weights()
        if ties:
            self.make(*ties[self._rng.randrange(len(ties))])

    def _candidates(self) -> Iterator[tuple[int, int, list[int]]]:
        """(key, position, symbols) that may end one wrong opening."""
        key, lock = self._wrong[self._rng.randrange(len(self._wrong))]
        big_too = self._rng.random() < self._tuning.big_share
        found = False
        for p in self._active[lock]:
            symbols = [s for s, times in enumerate(self._times[p]) if not times[lock]]
            symbols = self._open_to(key, p, symbols, big_too=big_too)
            if symbols:
                found = True
                yield key, p, symbols
            here = self.word[key][p]
            if self._times[p][here][lock] == 1:
                other = (self._holds[p][here] & self._openers[lock]).bit_length() - 1
                others = [s for s in range(self.space.shape[p]) if s != here]
                others = self._open_to(other, p, others, big_too=big_too)
                if others:
                    found = True
                    yield other, p, others
        if found:
            return
        for p, n in enumerate(self.space.shape):
            symbols = self._open_to(key, p, list(range(n)), big_too=True)
            if symbols:
                yield key, p, symbols

    def _open_to(self, key: int, p: int, symbols: list[int], *, big_too: bool) -> list[int]:
        """Symbols that a key may take in a position just now."""
        if not big_too and self._own[key].bit_count() > self._tuning.big:
            return []
        here, rests, now = self.word[key][p], self._rests[key][p], self.moves
        symbols = [s for s in symbols if s != here and rests[s] < now]
        symbols = self._legal.choose(key, self.word[key], p, symbols)
        if not self._stacks.can_fail[p]:
            return symbols
        return [s for s in symbols if self._stacks_hold(key, p, s)]

    def _stacks_hold(self, key: int, p: int, symbol: int) -> bool:
        """Whether the stacks of the key's locks can be made with its new cut."""
        old, ok = self.word[key][p], self._stacks.ok[p]
        for lock in _members(self._own[key] & self._live[p]):
            mask = 1 << symbol
            for s, times in enumerate(self._times[p]):
                if times[lock] > (1 if s == old else 0):
                    mask |= 1 << s
            if not ok[mask]:
                return False
        return True

    def change(self, key: int, p: int, symbol: int) -> int:
        """How many more wrong openings there are with this symbol there, weights counted."""
        self._views = {}
        freed = self._freed(key, p)
        return self._weigh(key, p, symbol, self._alone_of_key(key), freed, 1 << 60)

    def wrong_now(self) -> int:
        """Wrong openings where the search stands."""
        return len(self._wrong)

    def make(self, key: int, p: int, symbol: int) -> None:
        """Give a key another symbol in a position."""
        old = self.word[key][p]
        own = self._own[key] & self._live[p]
        changed = own & (self._once[p][old] | ~self._hit[p][symbol])
        self._leave(key, p, old)
        self.word[key][p] = symbol
        self._enter(key, p, symbol)
        self._note_key(key)
        for lock in _members(changed):
            self._note_lock(lock)
        self._rests[key][p][old] = self.moves + self._rng.randint(*self._tuning.rest)

    def _grow_weights(self) -> None:
        """Make a wrong opening heavier. One a move: with hundreds left, growing them all drowns
        what the weights know, and the search runs away.
        """
        for _ in range(min(self._tuning.grown, len(self._wrong))):
            pair = key, lock = self._wrong[self._rng.randrange(len(self._wrong))]
            self._extra[pair] = self._extra.get(pair, 0) + 1
            self._heavy_of_key[key] |= 1 << lock
            self._heavy_of_lock[lock] |= 1 << key


def _bits(members: Iterable[int]) -> int:
    total = 0
    for member in members:
        total |= 1 << member
    return total


def _members(bits: int) -> Iterator[int]:
    while bits:
        low = bits & -bits
        yield low.bit_length() - 1
        bits ^= low
