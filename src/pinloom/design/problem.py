"""The design problem, stripped of names: keys, locks, positions and levels.

Rules (see ``docs/guide/opening-rules.md``). In one position, the distance of a cut to a lock is its
distance in steps to the nearest level on which the lock splits. A key that shall open a lock is at
distance 0 everywhere; one that shall not is somewhere at ``least_step`` or more.

The box picture. A lock splits exactly on the levels its own keys use, position by position: its
*box* is the product of those level sets. All its keys are in the box by construction, so a design
is right when no other key is, where "in" is widened by ``least_step - 1`` on either side. Splitting
a lock on further levels never helps: it only widens the box.

Doors with equal openers and equal hardware are one lock. A position where a lock has no pins
(unpinned, or a shorter cylinder) passes every key and costs no pin.
"""

from dataclasses import dataclass

from pinloom.core.bitting import Bitting, PartialBitting
from pinloom.core.fitting import chamber_positions
from pinloom.core.hardware import HardwareFormat
from pinloom.core.request import DesignRequest


@dataclass(frozen=True, slots=True, kw_only=True)
class Lock:
    """Doors that share openers and hardware. ``active`` = positions with pins, ascending.

    ``outside`` = keys whose blank cannot enter the keyway: they need no other separation.
    """

    openers: tuple[int, ...]
    doors: tuple[int, ...]
    active: tuple[int, ...]
    outside: frozenset[int] = frozenset()


@dataclass(frozen=True, slots=True, kw_only=True)
class DesignProblem:
    """What the engine solves. ``keys`` counts all keys, reserved and retired ones too.

    ``pin_sizes`` = allowed differences between neighbouring levels of one lock in one position;
    ``max_masters`` = most of them in one position of one lock.
    """

    positions: int
    levels: int
    macs: int
    least_step: int
    pin_sizes: frozenset[int]
    max_masters: int
    keys: int
    locks: tuple[Lock, ...]
    fixed: tuple[PartialBitting | None, ...]


def from_request(request: DesignRequest) -> DesignProblem:
    """The stripped problem of a request. Raises ValueError when a cylinder cannot take the key
    format at all (callers check the hardware of a job first).
    """
    chart = request.chart
    merged: dict[tuple[object, ...], list[int]] = {}
    for index, (door, openers) in enumerate(zip(chart.doors, chart.openers, strict=True)):
        active = active_positions(
            request.key_format, request.cylinder_formats[index], door.unpinned
        )
        outside = frozenset(
            k for k, key in enumerate(chart.keys) if door.keyway and not chart.enters(key, door)
        )
        merged.setdefault((openers, active, outside), []).append(index)
    sizes = set(request.key_format.master_pins)
    for cylinder in set(request.cylinder_formats):
        sizes &= set(cylinder.master_pins)
    if request.master_pin_sizes is not None:
        sizes &= set(request.master_pin_sizes)
    most = min(f.max_masters for f in {request.key_format, *request.cylinder_formats})
    if request.max_masters is not None:
        most = min(most, request.max_masters)
    return DesignProblem(
        positions=request.key_format.chambers,
        levels=request.key_format.levels,
        macs=request.key_format.macs,
        least_step=request.key_format.least_step,
        pin_sizes=frozenset(sizes),
        max_masters=most,
        keys=len(chart.keys),
        locks=tuple(
            Lock(openers=openers, doors=tuple(doors), active=active, outside=outside)  # type: ignore[arg-type]
            for (openers, active, outside), doors in merged.items()
        ),
        fixed=request.fixed,
    )


def active_positions(
    key_format: HardwareFormat, cylinder: HardwareFormat, unpinned: tuple[int, ...]
) -> tuple[int, ...]:
    """Key positions that a cylinder checks. ``unpinned`` counts its chambers from 1."""
    positions = chamber_positions(key_format, cylinder)
    if positions is None:
        raise ValueError(f"keys of {key_format.name} do not fit cylinders of {cylinder.name}")
    return tuple(sorted(p for c, p in enumerate(positions, start=1) if c not in unpinned))


def wrong_pairs(problem: DesignProblem, bittings: tuple[Bitting, ...]) -> list[tuple[int, int]]:
    """All (key, lock) pairs that a set of bittings opens wrongly; plain and slow, for small cases
    and as an oracle. Keys of a lock are in its box by construction.
    """
    wrong: list[tuple[int, int]] = []
    for number, lock in enumerate(problem.locks):
        if not lock.openers:
            continue
        box = [{bittings[k][p] for k in lock.openers} for p in lock.active]
        for key, levels in enumerate(bittings):
            if key in lock.openers or key in lock.outside:
                continue
            if all(
                min(abs(levels[p] - split) for split in splits) < problem.least_step
                for p, splits in zip(lock.active, box, strict=True)
            ):
                wrong.append((key, number))
    return wrong
