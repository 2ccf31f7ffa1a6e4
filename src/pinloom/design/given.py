"""What can be refused by looking at what is given: cuts fixed beforehand, blanks and keyways.

Only keys whose cuts are all given are looked at, but for MACS between two cuts that are given;
whatever else is half open is the search's business. An opening by given cuts is final: a lock's box
only grows with further keys.
"""

from itertools import pairwise

from pinloom.core.bitting import Bitting
from pinloom.design.encoding import bridges
from pinloom.design.problem import DesignProblem, Lock, given_levels
from pinloom.design.refusal import Refusal
from pinloom.design.rules import Legal


def refuse_given(problem: DesignProblem) -> Refusal | None:
    """The first contradiction among what is given, or None."""
    given = {
        key: cuts for key in range(problem.keys) if (cuts := given_levels(problem, key)) is not None
    }
    return (
        _barred(problem)
        or _unlawful(problem, given)
        or _twins(given)
        or next((r for n in range(len(problem.locks)) if (r := _lock(problem, given, n))), None)
    )


def _barred(problem: DesignProblem) -> Refusal | None:
    """A key that shall open a cylinder its blank cannot enter."""
    for number, lock in enumerate(problem.locks):
        for key in lock.openers:
            if key in lock.outside:
                return Refusal(
                    code="design-blank-cannot-enter",
                    keys=(key,),
                    locks=(number,),
                    key_names=(("key", (key,)),),
                    lock_names=(("door", (number,)),),
                    minimal=True,
                )
    return None


def _unlawful(problem: DesignProblem, given: dict[int, Bitting]) -> Refusal | None:
    """Given cuts that break a rule about single keys."""
    for key, part in enumerate(problem.fixed):
        if part is not None and any(
            a is not None and b is not None and abs(a - b) > problem.macs for a, b in pairwise(part)
        ):
            return _refused(problem, key, "design-given-breaks-macs")
    legal = Legal(problem)
    codes = {
        "avoid": "design-given-is-avoided",
        "avoid_stacks": "design-given-opens-foreign",
    }
    for key, cuts in given.items():
        for rule in legal.breaks(key, cuts):
            if rule in codes:
                return _refused(problem, key, codes[rule])
    return None


def _refused(problem: DesignProblem, key: int, code: str) -> Refusal:
    return Refusal(
        code=code,
        keys=(key,),
        locks=(),
        values=(("macs", str(problem.macs)),),
        key_names=(("key", (key,)),),
        minimal=True,
    )


def _twins(given: dict[int, Bitting]) -> Refusal | None:
    seen: dict[Bitting, int] = {}
    for key, cuts in given.items():
        if cuts in seen:
            return Refusal(
                code="design-given-twice",
                keys=(seen[cuts], key),
                locks=(),
                key_names=(("key", (key,)), ("other", (seen[cuts],))),
                minimal=True,
            )
        seen[cuts] = key
    return None


def _lock(problem: DesignProblem, given: dict[int, Bitting], number: int) -> Refusal | None:
    """Given keys of one lock that cannot share it, or that let another given key in."""
    lock = problem.locks[number]
    openers = [k for k in lock.openers if k in given]
    if not openers:
        return None
    unmade = _unmade(problem, given, lock, openers)
    if unmade is not None:
        return Refusal(
            code="design-given-pin-not-made",
            keys=unmade,
            locks=(number,),
            key_names=(("key", unmade[1:]), ("other", unmade[:1])),
            lock_names=(("door", (number,)),),
            minimal=True,
        )
    for key, cuts in given.items():
        if key in lock.openers or key in lock.outside:
            continue
        if _lets_in(problem, given, lock, openers, cuts):
            for one in tuple(openers):  # only those whose cuts it takes
                rest = [k for k in openers if k != one]
                if rest and _lets_in(problem, given, lock, rest, cuts):
                    openers = rest
            return Refusal(
                code="design-given-opens",
                keys=tuple(sorted((*openers, key))),
                locks=(number,),
                key_names=(("key", (key,)), ("openers", tuple(openers))),
                lock_names=(("door", (number,)),),
            )
    return None


def _lets_in(
    problem: DesignProblem,
    given: dict[int, Bitting],
    lock: Lock,
    openers: list[int],
    cuts: Bitting,
) -> bool:
    """Whether these keys of a lock alone make it take the cuts of another."""
    return all(
        min(abs(cuts[p] - given[k][p]) for k in openers) < problem.least_step for p in lock.active
    )


def _unmade(
    problem: DesignProblem, given: dict[int, Bitting], lock: Lock, openers: list[int]
) -> tuple[int, int] | None:
    """Two keys whose cuts in one position differ by no pin and no sum of pins."""
    possible = problem.pin_sizes | bridges(problem.pin_sizes, problem.levels) | {0}
    for i, a in enumerate(openers):
        for b in openers[i + 1 :]:
            if any(abs(given[a][p] - given[b][p]) not in possible for p in lock.active):
                return a, b
    return None
