"""Problems made from a problem: a part of it, or the same with one thing changed."""

from collections.abc import Iterable
from dataclasses import dataclass, replace

from pinloom.design.problem import DesignProblem, Lock


@dataclass(frozen=True, slots=True, kw_only=True)
class Part:
    """Some keys and locks of a problem. ``keys[i]`` and ``locks[i]`` are the old numbers."""

    problem: DesignProblem
    keys: tuple[int, ...]
    locks: tuple[int, ...]


def part_of(problem: DesignProblem, keys: Iterable[int], locks: Iterable[int]) -> Part:
    """The problem with these keys and locks alone. A key left without a lock stays as a key that
    shall open nothing; a lock left without keys refuses nobody.
    """
    keys, locks = tuple(sorted(keys)), tuple(sorted(locks))
    new = {old: number for number, old in enumerate(keys)}
    place = {old: number for number, old in enumerate(locks)}
    groups = [g for g in range(len(problem.controls)) if problem.chart_keys + g in new]
    smaller = replace(
        problem,
        keys=len(keys),
        locks=tuple(_renumbered(problem.locks[n], new) for n in locks),
        fixed=tuple(problem.fixed[k] for k in keys),
        controls=tuple(problem.controls[g] for g in groups),
        control_locks=tuple(
            tuple(place[n] for n in problem.control_locks[g] if n in place) for g in groups
        ),
    )
    return Part(problem=smaller, keys=keys, locks=locks)


def _renumbered(lock: Lock, new: dict[int, int]) -> Lock:
    return replace(
        lock,
        openers=tuple(new[k] for k in lock.openers if k in new),
        outside=frozenset(new[k] for k in lock.outside if k in new),
    )


def with_lock(problem: DesignProblem, number: int, lock: Lock) -> DesignProblem:
    """The problem with one lock replaced."""
    locks = (*problem.locks[:number], lock, *problem.locks[number + 1 :])
    return replace(problem, locks=locks)


def without_mark(problem: DesignProblem, key: int, number: int) -> DesignProblem:
    """One key no longer opens one lock."""
    lock = problem.locks[number]
    openers = tuple(k for k in lock.openers if k != key)
    return with_lock(problem, number, replace(lock, openers=openers))


def without_lock(problem: DesignProblem, number: int) -> DesignProblem:
    """One lock leaves the system; nothing opens it and nothing need be kept out."""
    return with_lock(problem, number, replace(problem.locks[number], openers=()))


def with_own_keyway(problem: DesignProblem, number: int) -> DesignProblem:
    """One lock takes a second keyway that only the blanks of its own keys enter."""
    lock = problem.locks[number]
    outside = frozenset(range(problem.keys)) - set(lock.openers)
    return with_lock(problem, number, replace(lock, outside=outside))


def with_chamber_more(problem: DesignProblem) -> DesignProblem:
    """One chamber more, at the end, with pins in every lock that has pins everywhere else."""
    last, full = problem.positions, tuple(range(problem.positions))
    return replace(
        problem,
        positions=last + 1,
        fixed=tuple(None if cuts is None else (*cuts, None) for cuts in problem.fixed),
        locks=tuple(
            replace(lock, active=(*lock.active, last)) if lock.active == full else lock
            for lock in problem.locks
        ),
        avoid=(),  # bittings of another length are no longer the same key
        avoid_stacks=tuple((*stack, ()) for stack in problem.avoid_stacks),
    )


def with_pin_more(problem: DesignProblem) -> DesignProblem:
    """One master pin more allowed in a chamber."""
    return replace(problem, max_masters=problem.max_masters + 1)
