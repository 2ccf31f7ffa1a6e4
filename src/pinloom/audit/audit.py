"""The audit of one job, proved or faulty: all its parts, and what is worth saying of them."""

from collections.abc import Iterator
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from pinloom.audit.boxes import Boxes, boxes_of
from pinloom.audit.census import census_of
from pinloom.audit.counting import count_boxes
from pinloom.audit.exposure import exposure, masters
from pinloom.audit.neighbours import Tally, all_pairs
from pinloom.audit.records import Audit, Census, DoorCount, Reach
from pinloom.audit.remarks import remarks
from pinloom.audit.standards import standards
from pinloom.core.bitting import keeps_macs
from pinloom.core.job import Job


def audit(job: Job) -> Audit:
    """Count, walk and grade one job. Its proof's verdict is taken as it stands in the job."""
    boxes = boxes_of(job)
    tally = Tally(chart=job.chart, least=boxes.least)
    doors = _door_counts(job, boxes, tally)
    exposed = exposure(job, boxes)
    made = Audit(
        name=job.name,
        faults=tuple((fault.key, fault.door) for fault in job.proof.faults),
        doors=doors,
        census=tuple(_census(job, boxes)),
        neighbours=tally.result(),
        exposure=exposed,
        masters=masters(exposed),
        standards=standards(job),
        claims=job.claims,
        findings=(),
    )
    unreadable = [
        door.name
        for door, readable in zip(job.chart.doors, boxes.readable, strict=True)
        if not readable
    ]
    return replace(made, findings=remarks(made, unreadable))


def door_counts(job: Job) -> tuple[DoorCount, ...]:
    """The counts of every door alone, without the census: quick for any job."""
    return _door_counts(job, boxes_of(job))


def _own_combinations(job: Job) -> NDArray[np.bool_]:
    """Per key, whether it is a combination by itself: cuttable, and no earlier key is equal."""
    seen: set[tuple[int, ...]] = set()
    found = []
    for levels in job.bittings:
        found.append(levels not in seen and keeps_macs(levels, job.key_format.macs))
        seen.add(levels)
    return np.array(found, dtype=np.bool_)


def _door_counts(job: Job, boxes: Boxes, tally: Tally | None = None) -> tuple[DoorCount, ...]:
    """Counts of every door; the pairs looked at on the way are added to the tally."""
    macs = job.key_format.macs
    exact = count_boxes(boxes.exact(), macs)
    tolerant = count_boxes(boxes.tolerant(), macs)
    issued = np.zeros(len(job.chart.doors), dtype=np.int64)
    own = _own_combinations(job)
    for pairs in all_pairs(job.chart, boxes, job.bittings):
        issued[pairs.doors.start : pairs.doors.stop] = (pairs.opens & own).sum(axis=1)
        if tally is not None:
            tally.add(pairs)
    return tuple(
        DoorCount(
            door=cylinder.name,
            exact=int(exact[door]),
            tolerant=int(tolerant[door]),
            issued=int(issued[door]),
            master_pins=job.pinning[door].master_pins(),
        )
        for door, cylinder in enumerate(job.chart.doors)
    )


def _census(job: Job, boxes: Boxes) -> Iterator[Census]:
    """Both kinds; none where the key space is too large to walk.

    Control keys are on order too, so they are no incidental keys.
    """
    keys = [(key.name, cuts) for key, cuts in zip(job.chart.keys, job.bittings, strict=True)]
    for control in job.controls:
        name = f"control:{control.group}" if control.group else "control"
        keys.append((name, control.levels))
    for reach, flags in ((Reach.EXACT, boxes.exact()), (Reach.TOLERANT, boxes.tolerant())):
        made = census_of(flags, job.key_format.macs, reach, keys)
        if made is not None:
            yield made
