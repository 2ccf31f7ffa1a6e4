"""What the four preferences count. All figures are whole numbers and lower is better, except the
margin, which is (chambers, steps) and higher is better.

A lock with c(p) levels in position p holds the sum of c(p) - 1 master pins and is operated by the
product of c(p) combinations of cuts, of which its own keys are some; the rest are incidental. Every
cylinder of a lock counts. Combinations are counted without regard to MACS, as the trade's published
counts are.
"""

from math import prod

from pinloom.core.bitting import Bitting
from pinloom.core.job import Preference
from pinloom.design.problem import DesignProblem, Lock

NAMES = {
    Preference.FEWEST_MASTER_PINS: "master pins",
    Preference.FEWEST_INCIDENTAL_KEYS: "operating combinations of all cylinders",
    Preference.FEWEST_PIN_SIZES: "different pins",
}
MARGIN_CHAMBERS = "chambers that keep a key out, at least"
MARGIN_STEPS = "steps that keep a key out, at least"


def counts(lock: Lock, bittings: tuple[Bitting, ...]) -> list[int]:
    """How many levels a lock splits on, by active position."""
    return [len({bittings[k][p] for k in lock.openers}) for p in lock.active]


def master_pins(problem: DesignProblem, bittings: tuple[Bitting, ...]) -> int:
    """Master pins of all cylinders."""
    return sum(
        lock.cylinders * sum(c - 1 for c in counts(lock, bittings))
        for lock in problem.locks
        if lock.openers
    )


def combinations(problem: DesignProblem, bittings: tuple[Bitting, ...]) -> int:
    """Combinations of cuts that operate each cylinder, summed over all cylinders. What the chart
    issues is the same in every design, so the least sum has the fewest incidental ones.
    """
    return sum(
        lock.cylinders * prod(counts(lock, bittings)) for lock in problem.locks if lock.openers
    )


def pin_kinds(problem: DesignProblem, bittings: tuple[Bitting, ...]) -> int:
    """Different bottom pins and different master pins in the job."""
    bottoms: set[int] = set()
    masters: set[int] = set()
    for lock in problem.locks:
        if not lock.openers or not lock.cylinders:
            continue
        for p in lock.active:
            levels = sorted({bittings[k][p] for k in lock.openers})
            bottoms.add(levels[0])
            masters.update(b - a for a, b in zip(levels, levels[1:], strict=False))
    return len(bottoms) + len(masters)


def margin(problem: DesignProblem, bittings: tuple[Bitting, ...]) -> tuple[int, int]:
    """The weakest refusal: how many positions keep the key out, and the best of them in steps.

    (positions, levels) when no key is refused anywhere.
    """
    weakest = (problem.positions, problem.levels)
    for lock in problem.locks:
        if not lock.openers:
            continue
        for key in set(range(problem.keys)) - {*lock.openers, *lock.outside}:
            steps = [
                min(abs(bittings[key][p] - bittings[k][p]) for k in lock.openers)
                for p in lock.active
            ]
            far = sum(s >= problem.least_step for s in steps)
            weakest = min(weakest, (far, max(steps, default=0)))
    return weakest


def least_pins_for(words: int, positions: int, most: int) -> int:
    """Fewest master pins that give at least so many combinations in so many positions.

    Pins p give at most the product of counts c(i) with sum of (c(i) - 1) = p, which is largest
    when the counts are as equal as possible.
    """
    for pins in range(positions * (most - 1) + 1):
        share, rest = divmod(pins, positions) if positions else (0, 0)
        if (share + 2) ** rest * (share + 1) ** (positions - rest) >= words:
            return pins
    return positions * (most - 1)


def pins_bound(problem: DesignProblem) -> int:
    """No design has fewer master pins than this.

    Theorem. The keys of a lock that some other lock tells apart, or that have different doors, are
    different words on the lock's active positions if they differ there at all. Keys may only
    coincide on the active positions of a lock when it has no pins in some position. For a lock with
    pins everywhere, its n keys are n different words in its box, so the product of its counts is
    n or more, and the sum of counts minus one is at least ``least_pins_for(n)``.
    """
    full = range(problem.positions)
    return sum(
        lock.cylinders
        * least_pins_for(
            len(lock.openers),
            problem.positions,
            min(problem.splits_most, len(lock.openers)),
        )
        for lock in problem.locks
        if lock.openers and tuple(full) == lock.active
    )


def combinations_bound(problem: DesignProblem) -> int:
    """Every cylinder is operated by each of its own keys, which are different words unless it has
    no pins in some position.
    """
    return sum(
        lock.cylinders * (len(lock.openers) if len(lock.active) == problem.positions else 1)
        for lock in problem.locks
        if lock.openers
    )


def kinds_bound(problem: DesignProblem) -> int:
    """A job with a cylinder has a bottom pin; one with two keys in a fully pinned cylinder has a
    master pin as well.
    """
    pinned = [lock for lock in problem.locks if lock.openers and lock.cylinders and lock.active]
    two = any(len(x.openers) > 1 and len(x.active) == problem.positions for x in pinned)
    return int(bool(pinned)) + int(two)
