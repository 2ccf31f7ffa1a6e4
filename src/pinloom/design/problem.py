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

Control keys. In a small-format core the control shear line answers to exactly one cut a chamber, so
a group's control key is one more key, which opens no door, and its control line one more lock that
only this key opens. They come last: keys ``chart_keys ..`` and locks with no doors. In a
large-format core the control key is chosen after the others (``controls.py``).

Rules about a single key (MACS, key rules, bittings and foreign cylinders to avoid, the levels a
control key may have) are told by ``rules.Legal``, which every part of the engine asks.
"""

from dataclasses import dataclass, field

from pinloom.core.bitting import Bitting, PartialBitting
from pinloom.core.chart import AccessChart
from pinloom.core.fitting import chamber_positions
from pinloom.core.hardware import CoreKind, HardwareFormat, Reading
from pinloom.core.keyrules import KeyRules
from pinloom.core.request import DesignRequest


@dataclass(frozen=True, slots=True, kw_only=True)
class Lock:
    """Doors that share openers and hardware. ``active`` = positions with pins, ascending.

    ``outside`` = keys whose blank cannot enter the keyway: they need no other separation.
    ``cylinders`` = how many cylinders the doors stand for (a door has a count); a control line
    has no doors and no cylinders.
    """

    openers: tuple[int, ...]
    doors: tuple[int, ...]
    active: tuple[int, ...]
    outside: frozenset[int] = frozenset()
    cylinders: int = 1


@dataclass(frozen=True, slots=True, kw_only=True)
class DesignProblem:
    """What the engine solves. ``keys`` counts all keys: reserved, retired and control keys too.

    ``pin_sizes`` = allowed differences between neighbouring levels of one lock in one position;
    ``max_masters`` = most of them in one position of one lock. All keys differ from each other.
    ``controls`` = names of the core groups whose control keys are the last ``len(controls)`` keys;
    ``control_locks[i]`` = numbers of the locks with cylinders of that group; ``control_low`` = how
    much deeper than the control cut the deepest cut of those locks may be.
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
    rules: KeyRules = field(default_factory=KeyRules)
    bow_first: bool = True
    avoid: tuple[Bitting, ...] = ()
    avoid_stacks: tuple[tuple[tuple[int, ...], ...], ...] = ()
    controls: tuple[str, ...] = ()
    control_locks: tuple[tuple[int, ...], ...] = ()
    control_low: int | None = None

    @property
    def chart_keys(self) -> int:
        """How many keys the chart names; control keys follow them."""
        return self.keys - len(self.controls)

    @property
    def splits_most(self) -> int:
        """Most levels a lock can split on in one position: limited by the pins made and allowed."""
        smallest = min(self.pin_sizes, default=self.levels)
        return min(self.max_masters + 1, -(-self.levels // smallest))

    @property
    def symbols_most(self) -> int:
        """Most levels in one position that are pairwise ``least_step`` apart."""
        return -(-self.levels // self.least_step)


def from_request(request: DesignRequest) -> DesignProblem:
    """The stripped problem of a request. Raises ValueError when a cylinder cannot take the key
    format at all (callers check the hardware of a job first).
    """
    chart = request.chart
    merged: dict[tuple[tuple[int, ...], tuple[int, ...], frozenset[int]], list[int]] = {}
    pinned: dict[tuple[int, tuple[int, ...]], tuple[int, ...]] = {}
    for index, openers in enumerate(chart.openers):
        made, unpinned = request.cylinder_formats[index], chart.doors[index].unpinned
        active = pinned.get((id(made), unpinned))
        if active is None:
            active = active_positions(request.key_format, made, unpinned)
            pinned[id(made), unpinned] = active
        merged.setdefault((openers, active, outsiders(chart, index)), []).append(index)
    formats = kinds_of(request)
    sizes = frozenset.intersection(*(frozenset(f.master_pins) for f in formats))
    if request.master_pin_sizes is not None:
        sizes &= set(request.master_pin_sizes)
    most = min(f.max_masters for f in formats)
    if request.max_masters is not None:
        most = min(most, request.max_masters)
    groups = control_groups(request)
    given = dict(request.control)
    return DesignProblem(
        positions=request.key_format.chambers,
        levels=request.key_format.levels,
        macs=request.key_format.macs,
        least_step=request.key_format.least_step,
        pin_sizes=sizes,
        max_masters=most,
        keys=len(chart.keys) + len(groups),
        locks=tuple(
            Lock(
                openers=openers,
                doors=tuple(doors),
                active=active,
                outside=outside,
                cylinders=sum(chart.doors[d].count for d in doors),
            )
            for (openers, active, outside), doors in merged.items()
        )
        + _control_lines(request),
        fixed=request.fixed + tuple(given.get(group) for group in groups),
        rules=request.rules,
        bow_first=request.key_format.reading is Reading.BOW_TO_TIP,
        avoid=request.avoid,
        avoid_stacks=request.avoid_stacks,
        controls=groups,
        control_locks=_control_locks(request, list(merged.values())),
        control_low=_control_low(request) if groups else None,
    )


def kinds_of(request: DesignRequest) -> list[HardwareFormat]:
    """The formats of keys and cylinders, each once. By identity: comparing thousands of whole
    formats takes longer than counting doors.
    """
    return list({id(f): f for f in (request.key_format, *request.cylinder_formats)}.values())


def outsiders(chart: AccessChart, door: int) -> frozenset[int]:
    """Keys whose blank cannot enter a door's keyway."""
    if not chart.doors[door].keyway:
        return frozenset()
    return frozenset(
        k for k, key in enumerate(chart.keys) if not chart.enters(key, chart.doors[door])
    )


def core_doors(request: DesignRequest, kind: CoreKind) -> dict[str, list[int]]:
    """Core group -> indices of its doors, for cylinders with a control line of this kind."""
    groups: dict[str, list[int]] = {}
    for index, cylinder in enumerate(request.cylinder_formats):
        if cylinder.core is not None and cylinder.core.kind is kind:
            groups.setdefault(request.chart.doors[index].core_group, []).append(index)
    return dict(sorted(groups.items()))


def control_groups(request: DesignRequest) -> tuple[str, ...]:
    """Core groups whose control key acts in every chamber."""
    return tuple(core_doors(request, CoreKind.SMALL))


def _control_lines(request: DesignRequest) -> tuple[Lock, ...]:
    chart = request.chart
    lines: dict[Lock, None] = {}
    for number, (_, doors) in enumerate(core_doors(request, CoreKind.SMALL).items()):
        for door in doors:
            active = active_positions(
                request.key_format, request.cylinder_formats[door], chart.doors[door].unpinned
            )
            opener = len(chart.keys) + number
            lines[
                Lock(
                    openers=(opener,),
                    doors=(),
                    active=active,
                    outside=outsiders(chart, door),
                    cylinders=0,
                )
            ] = None
    return tuple(lines)


def _control_locks(request: DesignRequest, locks: list[list[int]]) -> tuple[tuple[int, ...], ...]:
    number_of = {door: number for number, doors in enumerate(locks) for door in doors}
    return tuple(
        tuple(sorted({number_of[door] for door in doors}))
        for doors in core_doors(request, CoreKind.SMALL).values()
    )


def _control_low(request: DesignRequest) -> int | None:
    """build-up = control + offset - deepest cut; the smallest build-up made bounds the deepest."""
    cores = [f.core for f in request.cylinder_formats if f.core is not None]
    lows = [core.offset - min(core.buildup_sizes) for core in cores if core.buildup_sizes]
    return min(lows, default=None)


def active_positions(
    key_format: HardwareFormat, cylinder: HardwareFormat, unpinned: tuple[int, ...]
) -> tuple[int, ...]:
    """Key positions that a cylinder checks. ``unpinned`` counts its chambers from 1."""
    positions = chamber_positions(key_format, cylinder)
    if positions is None:
        raise ValueError(f"keys of {key_format.name} do not fit cylinders of {cylinder.name}")
    return tuple(sorted(p for c, p in enumerate(positions, start=1) if c not in unpinned))


def locks_of(problem: DesignProblem) -> list[list[int]]:
    """Per key, the numbers of the locks it opens."""
    of: list[list[int]] = [[] for _ in range(problem.keys)]
    for number, lock in enumerate(problem.locks):
        for key in lock.openers:
            of[key].append(number)
    return of


def given_levels(problem: DesignProblem, key: int) -> Bitting | None:
    """The cuts of a key that are all given beforehand."""
    cuts = tuple(c for c in problem.fixed[key] or () if c is not None)
    return cuts if len(cuts) == problem.positions else None


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
