"""A job in figures that a locksmith understands, for screens and paper."""

from collections.abc import Sequence
from dataclasses import dataclass

from pinloom.core.bench import PartCount
from pinloom.core.chart import Key, KeyStanding
from pinloom.core.job import Job
from pinloom.pinning import parts

SIGN_OFF_ABOVE = 2  # master pins in a chamber; common practice, no source


@dataclass(frozen=True, slots=True, kw_only=True)
class Summary:
    """Counts over the whole job. ``cylinders`` counts every piece, ``doors`` rows of the chart;
    ``levels`` = how many keys stand above one another in the longest line of the chart;
    ``master_pins`` and ``crowded`` (chambers above two master pins) count every piece; ``copies`` =
    pieces of the keys in use, None when the chart says nothing about it.
    """

    doors: int
    cylinders: int
    keys: int
    copies: int | None
    reserved: int
    retired: int
    control_keys: int
    levels: int
    master_pins: int
    most_in_cylinder: int
    crowded: int
    parts: tuple[PartCount, ...]


def summarise(job: Job) -> Summary:
    """Count one job."""
    chart = job.chart
    standings = [key.standing for key in chart.keys]
    pins = [cylinder.master_pins() for cylinder in job.pinning]
    counts = [door.count for door in chart.doors]
    return Summary(
        doors=len(chart.doors),
        cylinders=sum(counts),
        keys=len(chart.keys),
        copies=_copies(chart.keys),
        reserved=standings.count(KeyStanding.RESERVED),
        retired=standings.count(KeyStanding.RETIRED),
        control_keys=len(job.controls),
        levels=_levels(job),
        master_pins=sum(n * count for n, count in zip(pins, counts, strict=True)),
        most_in_cylinder=max(pins, default=0),
        crowded=_crowded(job),
        parts=parts(chart, [job.format_of(door) for door in range(len(chart.doors))], job.pinning),
    )


def _copies(keys: Sequence[Key]) -> int | None:
    said = [k.copies for k in keys if k.copies and k.standing is KeyStanding.ACTIVE]
    return sum(said) if said else None


def _crowded(job: Job) -> int:
    return sum(
        door.count
        for door, cylinder in zip(job.chart.doors, job.pinning, strict=True)
        for stack in cylinder.chambers
        if stack is not None and len(stack.masters) > SIGN_OFF_ABOVE
    )


def _levels(job: Job) -> int:
    """The longest line of keys of which each opens more than the next and all that it opens.

    From the marks, not from the columns of a schedule: a matrix has levels too. Only keys of doors
    that the lighter one opens first can be above it, so the walk stays short.
    """
    columns = [frozenset(column) for column in job.chart.doors_of()]
    order = sorted(range(len(columns)), key=lambda key: len(columns[key]))
    height: dict[int, int] = {}
    for key in order:
        if not columns[key]:
            continue
        height.setdefault(key, 1)
        door = min(columns[key], key=lambda one: len(job.chart.openers[one]))
        for above in job.chart.openers[door]:
            if columns[key] < columns[above]:
                height[above] = max(height.get(above, 1), height[key] + 1)
    return max(height.values(), default=0)
