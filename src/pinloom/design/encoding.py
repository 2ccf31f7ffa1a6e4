"""The design problem in clauses: the true model, over all depths of the format.

Variables. ``cut[k][p][v]``: key k has level v in position p. ``split[l][p][v]``: lock l splits on v
in p, forced by the cuts of its keys. ``zone[l][p][v]``: a cut v passes there, forced by every split
nearer than the least step. ``apart[k, l, p]``: position p keeps key k out of lock l.

Theory. Splits are only forced upwards (a cut makes its split true). An idle split does no good: it
widens a zone and costs a pin. One case needs the other direction too: where a difference that is
not made as a pin can be bridged by a third level, the bridge must be real.

Separations come on demand: a chart has keys x locks of them and most hold by themselves. The caller
solves, looks for wrong pairs in the model, adds those, and solves again (``exact.py``).

Symmetry. Two keys are alike when swapping them maps the set of locks onto itself. Alike keys may be
ordered lexicographically: each of these constraints is the lex-leader of one swap under one and the
same order of variables (keys first, then positions), so the least member of every orbit of
solutions satisfies all of them at once, and no chart loses its last solution. Keys must differ, so
the order is strict. Off when selectors are on: with a key or a door gone, other keys are alike.

Held keys keep the cuts they have: their rows are constants, and so are splits that they force, so
that a few keys of a large chart cost as little as a small chart (``neighbourhoods``). Pins of locks
without a free key are taken as they are.

Selectors. Every clause that comes from a key's or a lock's place in the chart can be guarded, so
that assumptions switch keys and locks on and off; a core then names those that conflict.
"""

from collections.abc import Callable, Collection, Iterable, Mapping, Sequence
from itertools import combinations
from math import comb

from pinloom.core.bitting import Bitting
from pinloom.design.looks import keep_rules
from pinloom.design.problem import DesignProblem
from pinloom.design.rules import (
    advised,
    control_floor,
    forces,
    foreign_zones,
    given_whole,
    required,
)
from pinloom.design.sat import Sat, at_most, exactly_one

_SUBSETS = 300  # up to so many clauses a limit is written out, beyond it is counted


Levels = Sequence[Collection[int]]


class _Splits(dict[int, list[list[int]]]):
    """Rows of splits by lock, made when first asked for."""

    def __init__(self, make: Callable[[int], list[list[int]]]) -> None:
        super().__init__()
        self._make = make

    def __missing__(self, number: int) -> list[list[int]]:
        self[number] = rows = self._make(number)
        return rows


class Encoding:
    """Clauses of one problem in one solver."""

    def __init__(
        self,
        problem: DesignProblem,
        sat: Sat,
        *,
        selectors: bool = False,
        symmetry: bool = True,
        held: Mapping[int, Bitting] | None = None,
        levels: Levels | None = None,
    ) -> None:
        """``held`` = cuts of keys that keep them, ``levels`` = those the others may take then, by
        position; not together with selectors or symmetry.
        """
        assert not (held and (selectors or symmetry)), "held keys are neither switched nor ordered"
        self.problem = problem
        self.sat = sat
        self._held = held or {}
        self._levels = levels or (range(problem.levels),) * problem.positions
        self._true = self._truth() if held else 0
        self.key_on = sat.vars(problem.keys) if selectors else []
        self.lock_on = sat.vars(len(problem.locks)) if selectors else []
        self.cut = [self._key(key) for key in range(problem.keys)]
        self._bridged: set[int] = set()
        self.split = _Splits(self._splits)
        for number, lock in enumerate(problem.locks):
            if not held or not all(key in held for key in lock.openers):
                self.split[number] = self._splits(number)
        self._zone: dict[tuple[int, int, int], list[int]] = {}
        self._ordered: set[tuple[int, int]] = set()
        self._real: set[int] = set()
        for number in sorted(self._bridged):
            self.only_real(number)
        self._control_room()
        if symmetry and not selectors:
            for group in alike(problem):
                for a, b in zip(group, group[1:], strict=False):
                    self._order(a, b)

    # -- keys ---------------------------------------------------------------------------------

    def _truth(self) -> int:
        """A literal that is true."""
        true = self.sat.var()
        self.sat.add([true])
        return true

    def _key(self, key: int) -> list[list[int]]:
        true, levels = self._true, self.problem.levels
        if key in self._held:
            return [[true if v == cut else -true for v in range(levels)] for cut in self._held[key]]
        problem, sat = self.problem, self.sat
        cut = [sat.vars(problem.levels) for _ in range(problem.positions)]
        fixed = problem.fixed[key]
        floor = control_floor(problem, key)
        for p, row in enumerate(cut):
            exactly_one(sat, row)
            level = fixed[p] if fixed is not None else None
            if level is not None:
                sat.add([row[level]])
            for v in range(floor[p]):
                sat.add([-row[v]])
            if self._held:
                may = {*self._levels[p], level}
                sat.add_all([-x] for v, x in enumerate(row) if v not in may)
        for left, right in zip(cut, cut[1:], strict=False):
            for v, w in _pairs(problem.levels):
                if abs(v - w) > problem.macs:
                    sat.add([-left[v], -right[w]])
        if not given_whole(problem, key):
            rules = required(problem.rules)
            keep_rules(sat, cut, rules, bow_first=problem.bow_first)
        return cut

    def advise(self) -> dict[str, int]:
        """Field of each advised rule -> a literal that makes every free key keep it."""
        rules = advised(self.problem.rules)
        guards = {name: self.sat.var() for name in forces(rules)}
        off = {name: [-guard] for name, guard in guards.items()}
        for key, cut in enumerate(self.cut):
            if not given_whole(self.problem, key):
                keep_rules(self.sat, cut, rules, bow_first=self.problem.bow_first, off=off)
        return guards

    # -- locks --------------------------------------------------------------------------------

    def _splits(self, number: int) -> list[list[int]]:
        problem, sat = self.problem, self.sat
        lock = problem.locks[number]
        rows: list[list[int]] = []
        guard = [-self.lock_on[number]] if self.lock_on else []
        for p in range(problem.positions):
            if p not in lock.active or not lock.openers:
                rows.append([])
                continue
            if len(lock.openers) == 1 and not self.key_on:
                rows.append(self.cut[lock.openers[0]][p])
                continue
            row = self._row(number, p)
            rows.append(row)
            if all(key in self._held for key in lock.openers):
                continue
            for key in lock.openers:
                if key in self._held:
                    continue
                off = [*guard, -self.key_on[key]] if self.key_on else []
                for v in range(problem.levels):
                    if abs(row[v]) != self._true:
                        sat.add([*off, -self.cut[key][p][v], row[v]])
            self._pins(number, row, guard)
        for key in lock.outside & set(lock.openers):
            sat.add([*guard, -self.key_on[key]] if self.key_on else [])
        return rows

    def _row(self, number: int, position: int) -> list[int]:
        """Literals for the splits of a lock: true where a held key forces one, false where no free
        key can, else variables.
        """
        if not self._held:
            return self.sat.vars(self.problem.levels)
        openers, true = self.problem.locks[number].openers, self._true
        forced = {self._held[key][position] for key in openers if key in self._held}
        free = [key for key in openers if key not in self._held]
        may = {*(self._levels[position] if free else ())}
        for cuts in (self.problem.fixed[key] for key in free):
            if cuts is not None and (given := cuts[position]) is not None:
                may.add(given)
        return [
            true if v in forced else self.sat.var() if v in may else -true
            for v in range(self.problem.levels)
        ]

    def _pins(self, number: int, row: list[int], guard: list[int]) -> None:
        """Only differences that are made, and no more pins than allowed."""
        problem, sat = self.problem, self.sat
        bridged = bridges(problem.pin_sizes, problem.levels)
        for v, w in _pairs(problem.levels):
            difference = w - v
            if difference <= 0 or difference in problem.pin_sizes:
                continue
            if difference not in bridged:
                sat.add([*guard, -row[v], -row[w]])
                continue
            self._bridged.add(number)
            sat.add([*guard, -row[v], -row[w], *row[v + 1 : w]])
        most = problem.max_masters + 1
        smallest = min(problem.pin_sizes, default=problem.levels)
        if most >= min(len(problem.locks[number].openers), -(-problem.levels // smallest)):
            return
        if comb(problem.levels, most + 1) <= _SUBSETS:
            sat.add_all([*guard, *(-x for x in some)] for some in combinations(row, most + 1))
        else:
            at_most(sat, row, most, guard)

    def only_real(self, number: int) -> None:
        """Let a lock split only where a key of it, switched on, has its cut."""
        if number in self._real or len(self.problem.locks[number].openers) < 2:
            return
        self._real.add(number)
        for p in self.problem.locks[number].active:
            for v, split in enumerate(self.split[number][p]):
                self.sat.add([-split, *self._reasons(number, p, v)])

    def _reasons(self, number: int, position: int, level: int) -> list[int]:
        reasons = []
        for key in self.problem.locks[number].openers:
            cut = self.cut[key][position][level]
            if self.key_on:
                both = self.sat.var()
                self.sat.add([-both, cut])
                self.sat.add([-both, self.key_on[key]])
                cut = both
            reasons.append(cut)
        return reasons

    def _control_room(self) -> None:
        """A lock's deepest cut may lie only so far below the control cut of its core."""
        low = self.problem.control_low
        if low is None:
            return
        for group, locks in enumerate(self.problem.control_locks):
            control = self.cut[self.problem.chart_keys + group]
            for number in locks:
                for p in self.problem.locks[number].active:
                    for v, w in _pairs(self.problem.levels):
                        if w - v > low and self.split[number][p]:
                            self.sat.add([-control[p][v], -self.split[number][p][w]])

    # -- on demand ----------------------------------------------------------------------------

    def zone(self, number: int, position: int, step: int) -> list[int]:
        """Per level, whether a cut is nearer than ``step`` to a split of the lock there."""
        row = self.split[number][position]
        if step == 1:
            return row
        found = self._zone.get((number, position, step))
        if found is None and self._held:
            found = [
                self._any(row[max(0, v - step + 1) : v + step]) for v in range(self.problem.levels)
            ]
            self._zone[number, position, step] = found
        elif found is None:
            found = self.sat.vars(self.problem.levels)
            for v, split in enumerate(row):
                for w in range(max(0, v - step + 1), min(self.problem.levels, v + step)):
                    self.sat.add([-split, found[w]])
            self._zone[number, position, step] = found
        return found

    def _any(self, literals: list[int]) -> int:
        """A literal forced by each of these, without a new variable where it can do without."""
        some = [x for x in literals if x != -self._true]
        if self._true in some or len(some) < 2:
            return min(some, key=lambda x: x != self._true, default=-self._true)
        found = self.sat.var()
        self.sat.add_all([-x, found] for x in some)
        return found

    def separate(self, key: int, number: int, chambers: int, step: int) -> None:
        """Keep a key out of a lock by ``step`` or more, in at least so many positions."""
        if self._held and chambers == 1:
            self._separate_once(key, number, step)
            return
        lock, sat = self.problem.locks[number], self.sat
        guard = [-self.key_on[key], -self.lock_on[number]] if self.key_on else []
        aparts = []
        for p in lock.active:
            apart = sat.var()
            aparts.append(apart)
            for cut, near in zip(self.cut[key][p], self.zone(number, p, step), strict=True):
                sat.add([-apart, -cut, -near])
        if len(aparts) >= chambers:
            needed = len(aparts) - chambers + 1
            sat.add_all([*guard, *some] for some in combinations(aparts, needed))
        elif self.key_on:
            sat.add_all([*guard, -self.key_on[opener]] for opener in lock.openers)
        else:
            sat.add([])

    def _separate_once(self, key: int, number: int, step: int) -> None:
        """One clause where the key or the lock's own keys are held, few where both are free."""
        clause = [-self._true]
        for p in self.problem.locks[number].active:
            near, row = self.zone(number, p, step), self.cut[key][p]
            if key in self._held:
                clause.append(-near[self._held[key][p]])
            elif all(abs(x) == self._true for x in near):
                clause += [cut for cut, x in zip(row, near, strict=True) if x < 0]
            else:
                apart = self.sat.var()
                clause.append(apart)
                for cut, x in zip(row, near, strict=True):
                    if x != -self._true:
                        self.sat.add([-apart, -cut, -x])
        self.sat.add(clause)

    def differ(self, a: int, b: int) -> None:
        """Two keys have cuts of their own."""
        if (min(a, b), max(a, b)) in self._ordered:
            return
        sat = self.sat
        guard = [-self.key_on[a], -self.key_on[b]] if self.key_on else []
        others = sat.vars(self.problem.positions)
        sat.add([*guard, *others])
        for other, left, right in zip(others, self.cut[a], self.cut[b], strict=True):
            sat.add_all([-other, -x, -y] for x, y in zip(left, right, strict=True))

    def shun(self, key: int, word: Bitting) -> None:
        """A key is not cut like this."""
        guard = [-self.key_on[key]] if self.key_on else []
        self.sat.add([*guard, *(-row[v] for row, v in zip(self.cut[key], word, strict=True))])

    def shun_foreign(self, key: int, index: int) -> None:
        """A key does not open one foreign cylinder (index into ``foreign_zones``)."""
        zone = foreign_zones(self.problem)[index]
        guard = [-self.key_on[key]] if self.key_on else []
        away = [
            self.cut[key][p][v]
            for p in range(self.problem.positions)
            for v in range(self.problem.levels)
            if not zone[p, v]
        ]
        self.sat.add([*guard, *away])

    def _order(self, a: int, b: int) -> None:
        """Key a comes before key b, strictly: level by level from the first position."""
        sat, levels = self.sat, self.problem.levels
        same = sat.vars(self.problem.positions + 1)
        sat.add([same[0]])
        sat.add([-same[-1]])
        for p, (left, right) in enumerate(zip(self.cut[a], self.cut[b], strict=True)):
            for v, w in _pairs(levels):
                if v > w:
                    sat.add([-same[p], -left[v], -right[w]])
            sat.add_all([-same[p], -x, -y, same[p + 1]] for x, y in zip(left, right, strict=True))
        self._ordered.add((min(a, b), max(a, b)))

    # -- reading ------------------------------------------------------------------------------

    def bittings(self) -> tuple[Bitting, ...]:
        """The cuts of the last model."""
        return tuple(
            self._held[key]
            if key in self._held
            else tuple(next(v for v, x in enumerate(row) if self.sat.true(x)) for row in cut)
            for key, cut in enumerate(self.cut)
        )


def alike(problem: DesignProblem) -> list[list[int]]:
    """Groups of two and more keys that are pairwise interchangeable, ascending."""
    locks: dict[object, int] = {}
    of: list[list[int]] = [[] for _ in range(problem.keys)]
    for number, lock in enumerate(problem.locks):
        name = _lock_name(frozenset(lock.openers), frozenset(lock.outside), lock)
        locks[name] = locks.get(name, 0) + 1
        for key in {*lock.openers, *lock.outside}:
            of[key].append(number)
    groups: list[list[int]] = []
    profiles: dict[object, list[list[int]]] = {}
    for key in range(problem.keys):
        profile = (
            key >= problem.chart_keys,
            problem.fixed[key],
            tuple(
                sorted(
                    (len(problem.locks[n].openers), len(problem.locks[n].outside)) for n in of[key]
                )
            ),
        )
        for group in profiles.setdefault(profile, []):
            if _swap_fits(problem, locks, of, group[0], key):
                group.append(key)
                break
        else:
            group = [key]
            profiles[profile].append(group)
            groups.append(group)
    return [group for group in groups if len(group) > 1]


def _swap_fits(
    problem: DesignProblem, locks: dict[object, int], of: list[list[int]], a: int, b: int
) -> bool:
    swap = {a: b, b: a}
    for number in {*of[a], *of[b]}:
        lock = problem.locks[number]
        own = _lock_name(frozenset(lock.openers), lock.outside, lock)
        other = _lock_name(
            frozenset(swap.get(k, k) for k in lock.openers),
            frozenset(swap.get(k, k) for k in lock.outside),
            lock,
        )
        if locks.get(other, 0) != locks[own]:
            return False
    return True


def _lock_name(openers: Iterable[int], outside: Iterable[int], lock: object) -> object:
    return (
        openers,
        outside,
        getattr(lock, "active", ()),
        bool(getattr(lock, "doors", ())),
        getattr(lock, "cylinders", 0),
    )


def bridges(sizes: Iterable[int], levels: int) -> set[int]:
    """Differences that are sums of two or more sizes that are made."""
    made = set(sizes)
    sums = set(made)
    result: set[int] = set()
    for _ in range(levels):
        new = {a + b for a in sums for b in made if a + b < levels} - result
        if not new:
            break
        result |= new
        sums |= new
    return result


def _pairs(levels: int) -> Sequence[tuple[int, int]]:
    return [(v, w) for v in range(levels) for w in range(levels)]
