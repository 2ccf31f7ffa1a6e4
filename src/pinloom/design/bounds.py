"""Instant noes: counting bounds on the true model. What they refuse is impossible, whatever the
design; what they let through may still be impossible.

Every bound is a theorem about any right design, stated above its function. Two facts carry them
over to two-step cuts: a key that a lock refuses is somewhere ``least_step`` or more from *every*
level of that lock, and levels fall into runs of ``least_step`` neighbours of which no two are told
apart (``levels``).

Sources: the largest set of change keys under one master is C-9 of the published checks (derived; in
line with Cernoch, Kuzelka, Zelezny, "Polynomial and Extensible Solutions in Lock-Chart Solving",
*Applied Artificial Intelligence* 30(10), 2016). The other arguments are this program's own.
"""

from collections.abc import Iterator
from dataclasses import dataclass

from pinloom.design.levels import (
    elementary,
    legal_words,
    room_beside,
    room_beside_these,
    separable_words,
    spreads,
)
from pinloom.design.macs_bound import antichain_with_macs
from pinloom.design.problem import DesignProblem
from pinloom.design.refusal import Refusal


@dataclass(frozen=True, slots=True, kw_only=True)
class Family:
    """Keys that each have a lock shared with the same ``commons`` and with no other of them."""

    master: int
    picks: tuple[tuple[int, int], ...]  # (key, its lock)
    commons: tuple[int, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Fullness:
    """How near a family is to the most that counting allows."""

    family: Family
    cap: int


def refuse(problem: DesignProblem) -> Refusal | None:
    """The first bound that the problem breaks, or None."""
    of = locks_of(problem)
    for bound in (too_many_words, crowded_lock, crowded_family, crossed_keys, uncovered_cells):
        refusal = bound(problem, of)
        if refusal is not None:
            return refusal
    return None


def locks_of(problem: DesignProblem) -> list[list[int]]:
    """Per key, the numbers of the locks it opens."""
    of: list[list[int]] = [[] for _ in range(problem.keys)]
    for number, lock in enumerate(problem.locks):
        for key in lock.openers:
            of[key].append(number)
    return of


# -- 1. words -----------------------------------------------------------------------------------


def too_many_words(problem: DesignProblem, of: list[list[int]]) -> Refusal | None:
    """Theorem. (a) All keys differ, so there are no more than bittings that keep MACS. (b) Of two
    keys with different doors one opens a lock that refuses the other, so they are told apart
    somewhere; so the different rows of the chart are no more than ``separable_words``. A lock that
    lets the key's blank in is needed for (b), so keys kept out by their blank are not counted.
    """
    words = legal_words(problem.levels, problem.positions, problem.macs)
    if problem.keys > words:
        return Refusal(
            code="design-more-keys-than-bittings",
            keys=tuple(range(words + 1)),
            locks=(),
            values=(("keys", str(problem.keys)), ("words", str(words))),
        )
    barred = {key for lock in problem.locks for key in lock.outside}
    rows: dict[tuple[int, ...], int] = {}
    for key, row in enumerate(of):
        if key not in barred:
            rows.setdefault(tuple(row), key)
    apart = separable_words(problem.levels, problem.positions, problem.macs, problem.least_step)
    if len(rows) <= apart:
        return None
    keys = tuple(sorted(rows.values()))[: apart + 1]
    return Refusal(
        code="design-more-keys-than-separable",
        keys=keys,
        locks=tuple(sorted({lock for key in keys for lock in of[key]})),
        values=(("keys", str(len(rows))), ("words", str(apart))),
    )


# -- 2. one lock --------------------------------------------------------------------------------


def crowded_lock(problem: DesignProblem, of: list[list[int]]) -> Refusal | None:
    """Theorem. All keys of a lock with pins in every position are different points of its box, and
    the box has no more levels in a position than pins are made and allowed. C-8 is the case of two
    levels in six positions: 64 keys.
    """
    del of
    box = problem.splits_most**problem.positions
    for number, lock in enumerate(problem.locks):
        if len(lock.active) == problem.positions and len(lock.openers) > box:
            return Refusal(
                code="design-too-many-keys-on-a-door",
                keys=lock.openers[: box + 1],
                locks=(number,),
                values=(
                    ("keys", str(len(lock.openers))),
                    ("box", str(box)),
                    ("levels", str(problem.splits_most)),
                    ("chambers", str(problem.positions)),
                ),
                lock_names=(("door", (number,)),),
            )
    return None


# -- 3. one master ------------------------------------------------------------------------------


def crowded_family(problem: DesignProblem, of: list[list[int]]) -> Refusal | None:
    """A family above its cap, of all keys, or of those on one shared lock."""
    for family in families(problem, of):
        cap = family_cap(problem, family)
        if len(family.picks) > cap:
            return _family_refusal(problem, family, cap, None)
        refusal = _crowded_share(problem, of, family)
        if refusal is not None:
            return refusal
    return None


def fullest(problem: DesignProblem) -> Fullness | None:
    """The family nearest to its cap; None when no two keys share a master."""
    found = [
        Fullness(family=family, cap=family_cap(problem, family))
        for family in families(problem, locks_of(problem))
    ]
    return max(found, key=lambda f: len(f.family.picks) / max(1, f.cap), default=None)


def families(problem: DesignProblem, of: list[list[int]]) -> Iterator[Family]:
    """One family for every key that opens two and more locks, gathered greedily: locks with few
    keys first, of each the key with the fewest locks.
    """
    for master, own in enumerate(of):
        if len(own) < 2:
            continue
        family = _gather(problem, of, master)
        if len(family.picks) > 1:
            yield family


def _gather(problem: DesignProblem, of: list[list[int]], master: int) -> Family:
    chosen: set[int] = set()
    seen: set[int] = {master}
    picks: list[tuple[int, int]] = []
    commons: set[int] | None = None
    for number in sorted(of[master], key=lambda n: (len(problem.locks[n].openers), n)):
        openers = problem.locks[number].openers
        if not chosen.isdisjoint(openers):
            continue
        fresh = [key for key in openers if key not in seen]
        if not fresh:
            continue
        key = min(fresh, key=lambda k: (len(of[k]), k))
        chosen.add(key)
        seen.update(openers)
        picks.append((key, number))
        commons = set(openers) if commons is None else commons & set(openers)
    return Family(
        master=master,
        picks=tuple(picks),
        commons=tuple(sorted((commons or set()) - chosen)),
    )


def family_cap(problem: DesignProblem, family: Family, levels: int | None = None) -> int:
    """Most keys such a family can have.

    Theorem. Write a key of the family as a word: in each position 0 when its cut is nearer than
    the least step to a cut of the commons, otherwise the run of that cut among the levels that are
    not. A key j that i's lock refuses has a position where its cut is clear of the commons' and of
    i's: there its letter is not 0 and not i's. So of two words none lies below the other, where
    "below" means 0 or equal in every position. With q(p) runs in position p such words form a
    product of stars, which has the LYM property, so no antichain is larger than its largest rank,
    max over r of e_r(q(1), ..., q(P)). Several commons are different words themselves: where they
    take several levels in a position, fewer runs stay clear.

    ``levels``: most levels in a position of a lock that the whole family shares with the commons.
    The letters other than 0 of such a position are then no more than ``levels`` minus the commons'.
    """
    positions = sorted({p for _, n in family.picks for p in problem.locks[n].active})
    given = [given_levels(problem, k) for k in family.commons]
    smallest = min(problem.pin_sizes, default=problem.levels)
    whole = all(len(problem.locks[n].active) == problem.positions for _, n in family.picks)
    caps = []
    if all(cuts is not None for cuts in given):
        taken = [tuple(sorted({cuts[p] for cuts in given if cuts})) for p in positions]
        rooms = [(room_beside_these(problem.levels, problem.least_step, t), len(t)) for t in taken]
        caps.append(_largest_rank(problem, rooms, levels))
    else:
        count = len(family.commons) if whole else 1
        for spread in spreads(count, len(positions), problem.splits_most):
            rooms = [
                (room_beside(problem.levels, problem.least_step, smallest, s), s) for s in spread
            ]
            caps.append(_largest_rank(problem, rooms, levels))
    cap = max(caps, default=0)
    if whole and levels is None and len(positions) == problem.positions:
        cap = min(cap, antichain_with_macs(problem))
    return cap


def given_levels(problem: DesignProblem, key: int) -> tuple[int, ...] | None:
    """The cuts of a key that are all given beforehand."""
    cuts = tuple(c for c in problem.fixed[key] or () if c is not None)
    return cuts if len(cuts) == problem.positions else None


def _largest_rank(problem: DesignProblem, rooms: list[tuple[int, int]], levels: int | None) -> int:
    """Of (runs clear of the commons, levels the commons take) per position. In a lock of its own a
    key of the family adds at most one level to the commons', so a full position adds none.
    """
    sizes = []
    for room, taken in rooms:
        most = problem.splits_most - taken if levels is None else levels - taken
        sizes.append(0 if most <= 0 else room if levels is None else min(room, most))
    return max(elementary(tuple(sizes)))


def _crowded_share(problem: DesignProblem, of: list[list[int]], family: Family) -> Refusal | None:
    """Part of a family on one lock that they and the master share."""
    own = {lock for _, lock in family.picks}
    lock_of = dict(family.picks)
    for number in of[family.master]:
        lock = problem.locks[number]
        if number in own or len(lock.active) < problem.positions:
            continue
        openers = set(lock.openers)
        picks = tuple((k, lock_of[k]) for k in lock.openers if k in lock_of)
        if len(picks) < 2:
            continue
        part = Family(
            master=family.master,
            picks=picks,
            commons=tuple(
                k
                for k in sorted(
                    set.intersection(*(set(problem.locks[n].openers) for _, n in picks))
                )
                if k in openers and all(k != other for other, _ in picks)
            ),
        )
        cap = family_cap(problem, part, problem.splits_most)
        if len(picks) > cap:
            return _family_refusal(problem, part, cap, number)
    return None


def _family_refusal(
    problem: DesignProblem, family: Family, cap: int, shared: int | None
) -> Refusal:
    picks = family.picks[: cap + 1]
    names = (("master", family.commons[:1] if shared is None else (family.master,)),)
    values = (
        ("keys", str(len(family.picks))),
        ("cap", str(cap)),
        ("chambers", str(problem.positions)),
        ("levels", str(problem.splits_most if shared is not None else problem.symbols_most)),
        ("commons", str(len(family.commons))),
    )
    return Refusal(
        code="design-too-many-under-master" if shared is None else "design-too-many-on-shared-door",
        keys=tuple(sorted({*family.commons, *(k for k, _ in picks)})),
        locks=tuple(sorted({n for _, n in picks} | ({shared} if shared is not None else set()))),
        values=values,
        key_names=names,
        lock_names=(("door", (shared,)),) if shared is not None else (),
    )


# -- 4. crossed keys ----------------------------------------------------------------------------


def crossed_keys(problem: DesignProblem, of: list[list[int]]) -> Refusal | None:
    """Theorem. Let keys k(i) and locks l(i), i = 1 .. m, be such that l(i) refuses k(i) and admits
    all the others. A position that keeps k(i) out of l(i) holds k(i) clear of all the other keys.
    Let it do so for t of them. If t < m, these and any other key are t + 1 cuts pairwise told
    apart, so t is at most n - 1 of the n separable levels. If t < m - 1, take a key j that is not
    settled there: its lock admits the t keys and one more that is clear of them, so t + 1 is at
    most the w levels a lock may have. So m > n and m > w + 1 need m <= P x min(n - 1, w - 1).
    """
    each = crossed_in_one(problem)
    cap = max(problem.positions * each, problem.symbols_most, problem.splits_most + 1)
    crossed = _crossed(problem, of, cap)
    if len(crossed) <= cap:
        return None
    some = crossed[: cap + 1]
    return Refusal(
        code="design-crossed-keys",
        keys=tuple(sorted(k for k, _ in some)),
        locks=tuple(sorted(n for _, n in some)),
        values=(
            ("keys", str(len(crossed))),
            ("each", str(each)),
            ("chambers", str(problem.positions)),
            ("cap", str(cap)),
        ),
    )


def _crossed(problem: DesignProblem, of: list[list[int]], cap: int) -> list[tuple[int, int]]:
    """A list as above, gathered greedily; only keys and locks with many marks are worth a look."""
    keys = [k for k, own in enumerate(of) if len(own) >= cap]
    locks = [
        n
        for n, lock in enumerate(problem.locks)
        if len(lock.openers) >= cap and len(lock.active) == problem.positions
    ]
    if len(keys) <= cap or len(locks) <= cap:
        return []
    opened = {k: set(of[k]) for k in keys}
    cells = [
        (k, n)
        for k in keys
        for n in locks
        if n not in opened[k] and k not in problem.locks[n].outside
    ]
    # Many marks in a key's column and a lock's row leave room for the others.
    cells.sort(key=lambda c: (-len(of[c[0]]) - len(problem.locks[c[1]].openers), c))
    chosen: list[tuple[int, int]] = []
    for key, number in cells:
        if all(
            key != k and number != n and number in opened[k] and n in opened[key] for k, n in chosen
        ):
            chosen.append((key, number))
    return chosen


def crossed_in_one(problem: DesignProblem) -> int:
    """How many crossed keys one position can settle, when there are many."""
    return min(problem.symbols_most, problem.splits_most) - 1


def crossed_words(problem: DesignProblem) -> dict[int, tuple[int, ...]]:
    """Words for crossed keys that reach the cap of ``crossed_keys``: in every position a key leaves
    everybody's middle cut for a level that nobody else has there.
    """
    step = problem.least_step
    middle = step * ((problem.symbols_most - 1) // 2)
    shift = int(middle + 1 < problem.levels and (problem.levels - middle - 2) % step == 0)
    base = tuple(middle + shift * (p % 2) for p in range(problem.positions))
    places = [
        (p, level)
        for p in range(problem.positions)
        for level in [
            level
            for level in range(base[p] % step, problem.levels, step)
            if level != base[p]
            and all(
                abs(level - base[q]) <= problem.macs
                for q in (p - 1, p + 1)
                if 0 <= q < problem.positions
            )
        ][: crossed_in_one(problem)]
    ]
    crossed = _crossed(problem, locks_of(problem), problem.positions + 1)
    free = [key for key, _ in crossed if problem.fixed[key] is None]
    return {
        key: (*base[:p], level, *base[p + 1 :])
        for key, (p, level) in zip(free, places, strict=False)
    }


# -- 5. covering the empty cells ----------------------------------------------------------------


def uncovered_cells(problem: DesignProblem, of: list[list[int]]) -> Refusal | None:
    """Theorem. Cut the levels of a position into n runs; they sort the keys into n classes. The
    position keeps key k out of lock l only if no key of l is in k's class (a cut in the same run
    is not told apart). So a class of s keys settles at most s x z(s) empty cells, z(s) = most locks
    that refuse s keys at once, and a position at most the best sum over n classes that share out
    all keys. All positions together must settle all empty cells. For z(s) an upper bound will do:
    the locks that refuse at least s keys, and the s-th largest number of locks refused to a key.
    """
    most = 60  # beyond it the bound is weak and the table large
    if not 1 < problem.keys <= most:
        return None
    locks = [lock for lock in problem.locks if lock.openers]
    refused = [len(locks) - len(own) for own in of]
    cells = sum(refused) - sum(len(lock.outside - set(lock.openers)) for lock in locks)
    ranked = sorted(refused, reverse=True)
    loose = [problem.keys - len(lock.openers) for lock in locks]
    worth = [0] + [
        s * min(ranked[s - 1], sum(x >= s for x in loose)) for s in range(1, problem.keys + 1)
    ]
    table = [0] + [-1] * problem.keys
    for _ in range(problem.symbols_most):
        table = [
            max(
                (table[k - s] + worth[s] for s in range(k + 1) if table[k - s] >= 0),
                default=-1,
            )
            for k in range(problem.keys + 1)
        ]
    settled = problem.positions * table[problem.keys]
    if cells <= settled:
        return None
    return Refusal(
        code="design-too-many-refusals",
        keys=tuple(range(problem.keys)),
        locks=tuple(n for n, lock in enumerate(problem.locks) if lock.openers),
        values=(
            ("cells", str(cells)),
            ("settled", str(settled)),
            ("chambers", str(problem.positions)),
        ),
    )
