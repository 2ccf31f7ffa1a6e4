"""The wanted chart laid over the system that exists: what stays, what is new, what is gone.

A key that the wanted chart no longer has still exists in somebody's pocket. It joins the chart as
RETIRED with its cuts, so that the proof makes sure it opens nothing.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from pinloom.core.bitting import Bitting, PartialBitting
from pinloom.core.chart import AccessChart, Key, KeyStanding
from pinloom.core.hardware import HardwareFormat
from pinloom.core.job import Job
from pinloom.growth.system import Splits, System, least_splits, splits_of


@dataclass(frozen=True, slots=True, kw_only=True)
class Wanted:
    """``cuts`` = cuts in the field by key name; ``given`` = cuts that the wanted chart fixes for
    keys not cut yet; ``old`` = splits in the field by door name, as pinned.
    """

    chart: AccessChart
    cuts: Mapping[str, Bitting]
    given: Mapping[str, PartialBitting]
    old: Mapping[str, Splits]
    changed: frozenset[str]  # doors that are new, or whose keys or hardware are not what they were
    avoid: tuple[Bitting, ...] = ()  # cuts that no new or re-cut key may get


def lay_over(
    job: Job,
    chart: AccessChart,
    formats: Sequence[HardwareFormat],
    given: Sequence[PartialBitting | None] = (),
    avoid: Sequence[Bitting] = (),
) -> Wanted:
    """The wanted chart with every key that exists. ``formats`` by door of ``chart``."""
    cuts = job.cuts()
    merged = with_retired(chart, job.chart.keys)
    old = {
        door.name: splits_of(job.key_format, job.format_of(d), job.pinning[d])
        for d, door in enumerate(job.chart.doors)
    }
    before, after = job.chart.opens(), merged.opens()
    stated = {door.name: (door.unpinned, door.keyway, door.core_group) for door in job.chart.doors}
    made = {door.name: job.format_of(d).name for d, door in enumerate(job.chart.doors)}
    changed = frozenset(
        door.name
        for d, door in enumerate(merged.doors)
        if before.get(door.name) != after[door.name]
        or stated[door.name] != (door.unpinned, door.keyway, door.core_group)
        or made[door.name] != formats[d].name
    )
    fixed = {
        key.name: part
        for key, part in zip(chart.keys, given, strict=False)
        if part is not None and key.name not in cuts
    }
    return Wanted(
        chart=merged, cuts=cuts, given=fixed, old=old, changed=changed, avoid=tuple(avoid)
    )


def with_retired(chart: AccessChart, existing: Sequence[Key]) -> AccessChart:
    """The chart with every existing key that it does not name, as a key that opens nothing."""
    known = {key.name for key in chart.keys}
    gone = [
        replace(key, standing=KeyStanding.RETIRED, under="", given="")
        for key in existing
        if key.name not in known
    ]
    if not gone:
        return chart
    return AccessChart.build(chart.doors, (*chart.keys, *gone), chart.opens(), chart.blanks)


def system_of(
    job: Job, wanted: Wanted, formats: Sequence[HardwareFormat], free: frozenset[str]
) -> System:
    """The system to search in: keys in ``free`` and keys not cut yet have no cuts; doors that
    change, or that a free key opens, are pinned for the known keys alone.
    """
    chart = wanted.chart
    cuts: list[Bitting | None] = []
    for key in chart.keys:
        cut = None if key.name in free else wanted.cuts.get(key.name)
        part = wanted.given.get(key.name)
        if cut is None and part is not None and all(v is not None for v in part):
            cut = tuple(v for v in part if v is not None)
        cuts.append(cut)
    system = System(
        chart=chart,
        made=job.key_format,
        formats=tuple(formats),
        cuts=tuple(cuts),
        splits=(None,) * len(chart.doors),
        controls=job.controls,
        field=tuple(wanted.old.get(door.name) for door in chart.doors),
        avoid=wanted.avoid,
        old=tuple(wanted.cuts.get(key.name) for key in chart.keys),
    )
    return replace(
        system,
        splits=tuple(_splits(system, d, wanted, free) for d in range(len(chart.doors))),
    )


def _splits(system: System, door: int, wanted: Wanted, free: frozenset[str]) -> Splits | None:
    name = system.chart.doors[door].name
    row = system.chart.openers[door]
    if name not in wanted.changed and not any(system.chart.keys[k].name in free for k in row):
        return wanted.old[name]
    known = [cut for k in row if (cut := system.cuts[k]) is not None]
    return least_splits(system, door, known) if known else None
