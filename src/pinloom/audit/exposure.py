"""Exposure of masters through the doors that lesser keys open.

M. Blaze, "Rights Amplification in Master-Keyed Mechanical Locks", IEEE Security & Privacy 1(2),
2003, showed that a master can be inferred by whoever holds a lesser key of a cylinder and can try
blanks in it, in at most P (D - 1) trials for P chambers of D depths (45 for five of ten). The audit
says, for defence, where that argument applies and what lowers it; how it is done is no business of
this program.

The argument needs two keys of different reach in one cylinder. So a door that one key opens, or
keys of equal reach, has nothing at stake; a chamber without pins gives no trials and tells nothing.
The bound counts pinned chambers only. It is an upper bound, not a measure of effort.
"""

from collections.abc import Sequence

import numpy as np

from pinloom.audit.boxes import Boxes
from pinloom.audit.counting import count_boxes
from pinloom.audit.records import Countermeasure, DoorExposure, MasterExposure
from pinloom.core.chart import KeyStanding
from pinloom.core.hardware import HardwareFormat
from pinloom.core.job import Job
from pinloom.core.stacks import PinnedCylinder


def trials(cylinder: PinnedCylinder, made: HardwareFormat) -> int:
    """P (D - 1) over the pinned chambers of one cylinder."""
    return sum(stack is not None for stack in cylinder.chambers) * (made.levels - 1)


def exposure(job: Job, boxes: Boxes) -> tuple[DoorExposure, ...]:
    """One entry a door, in the order of the chart."""
    reach = _reach(job)
    active = [key.standing is KeyStanding.ACTIVE for key in job.chart.keys]
    widest: list[int | None] = []
    holders: list[int] = []
    for openers in job.chart.openers:
        mine = [key for key in openers if active[key]]
        most = max(mine, key=lambda key: (reach[key], -key), default=None)
        lesser = 0 if most is None else sum(reach[key] < reach[most] for key in mine)
        widest.append(most if lesser else None)
        holders.append(lesser)
    without = _without(job, boxes, widest)
    found = []
    for door, (record, cylinder) in enumerate(zip(job.chart.doors, job.pinning, strict=True)):
        made, most = job.format_of(door), widest[door]
        found.append(
            DoorExposure(
                door=record.name,
                at_stake="" if most is None else job.chart.keys[most].name,
                holders=holders[door],
                trials=trials(cylinder, made),
                behind=0 if most is None else reach[most],
                without=without[door],
                lowers=() if most is None else _lowers(job, door, made),
            )
        )
    return tuple(found)


def masters(doors: Sequence[DoorExposure]) -> tuple[MasterExposure, ...]:
    """Keys at stake, the one with most doors behind it first."""
    by_key: dict[str, list[DoorExposure]] = {}
    for one in doors:
        if one.at_stake:
            by_key.setdefault(one.at_stake, []).append(one)
    found = [
        MasterExposure(
            key=key,
            through=len(through),
            holders=max(one.holders for one in through),
            behind=through[0].behind,
            least_trials=min(one.trials for one in through),
        )
        for key, through in by_key.items()
    ]
    return tuple(sorted(found, key=lambda one: -one.behind))


def _reach(job: Job) -> list[int]:
    """How many doors the chart lets each key open."""
    reach = [0] * len(job.chart.keys)
    for openers in job.chart.openers:
        for key in openers:
            reach[key] += 1
    return reach


def _without(job: Job, boxes: Boxes, widest: Sequence[int | None]) -> list[int]:
    """Exact combinations of each door when only its other keys have cuts in it.

    Pinned afresh for the keys that stay: a position splits on their cuts and no other.
    """
    key_format = job.key_format
    flags = boxes.exact()
    for door, most in enumerate(widest):
        if most is None:
            continue
        others = [job.bittings[key] for key in job.chart.openers[door] if key != most]
        for position in range(key_format.chambers):
            if flags[door, position].all():
                continue  # free: no pins meet this cut
            kept = np.zeros(key_format.levels, dtype=np.bool_)
            kept[[levels[position] for levels in others]] = True
            flags[door, position] &= kept
    return [int(count) for count in count_boxes(flags, key_format.macs)]


def _lowers(job: Job, door: int, made: HardwareFormat) -> tuple[Countermeasure, ...]:
    record, stacks = job.chart.doors[door], job.pinning[door].chambers
    pinned = [stack for stack in stacks if stack is not None]
    found = [Countermeasure.SINGLE_KEY]
    if any(len(stack.masters) > 1 for stack in pinned):
        found.append(Countermeasure.FEWER_MASTER_PINS)
    if pinned and all(stack.masters for stack in pinned):
        found.append(Countermeasure.ROTATING_CONSTANTS)
    if not record.keyway:
        found.append(Countermeasure.RESTRICTED_BLANK)
    if made.core is not None and not record.core_group:
        found.append(Countermeasure.CORE_GROUP)
    return tuple(found)
