"""How many keys fit under one master: the antichain bound, C-9 of the published checks.

Source: the largest set of change keys under one master is C-9 (derived; in line with Cernoch,
Kuzelka, Zelezny, "Polynomial and Extensible Solutions in Lock-Chart Solving", *Applied Artificial
Intelligence* 30(10), 2016). Two-step cuts, several masters in common and the limit on master pins
are this program's own additions.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache

from pinloom.design.levels import elementary, room_beside, room_beside_these, spreads
from pinloom.design.macs_bound import antichain_with_macs
from pinloom.design.problem import DesignProblem, given_levels, locks_of
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


def _largest_rank(problem: DesignProblem, rooms: list[tuple[int, int]], levels: int | None) -> int:
    """Of (runs clear of the commons, levels the commons take) per position. In a lock of its own a
    key of the family adds at most one level to the commons', so a full position adds none.
    """
    sizes = []
    for room, taken in rooms:
        most = problem.splits_most - taken if levels is None else levels - taken
        sizes.append(0 if most <= 0 else room if levels is None else min(room, most))
    return _widest(tuple(sizes))


@cache
def _widest(sizes: tuple[int, ...]) -> int:
    return max(elementary(sizes))


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
