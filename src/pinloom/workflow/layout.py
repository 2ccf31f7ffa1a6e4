"""The layout of a finished job, told so that a person can extend the system by hand.

What keys carry is read from the finished cuts and the chart, whatever made them. Each combination
that is told is free by an exact question (``growth.further``), asked of the depths that a group
carries and, where these leave too few, of its array (``growth.continued``); then a door of its own
is pinned for it, and every key is tried in all of these by the proof. All that are told may be used
together.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import partial

from pinloom.core.bitting import Bitting
from pinloom.core.chart import AccessChart, Door, Key, KeyStanding
from pinloom.core.findings import Severity
from pinloom.core.job import Job, Layout, LayoutGroup
from pinloom.design.carried import carried
from pinloom.growth.continued import Arrays
from pinloom.growth.further import Extension
from pinloom.pinning import pin_job
from pinloom.proof import prove
from pinloom.workflow.avoid import Avoided

TOLD = 3  # combinations of each group
MOST_FULL = 10  # groups with fewer, after which arrays are no longer looked through for others


def with_layout(job: Job, avoided: Avoided | None = None) -> Job:
    """The job with the layout that its cuts show; without one where no key is a master, or where
    the job is not proved: nobody should extend that. ``avoided`` = other systems that no further
    key may equal or open.
    """
    return replace(job, layout=layout_of(job, avoided) if job.proof.proved else None)


def layout_of(job: Job, avoided: Avoided | None = None) -> Layout | None:
    """The layout of a job, next combinations included."""
    layout = carried(job.chart, job.key_format, job.bittings)
    if layout is None:
        return None
    masters = _Masters(job.chart)
    others = avoided or Avoided()
    extension = Extension(job, avoid=others.bittings, avoid_stacks=others.stacks)
    for kept in job.kept:
        extension.hold(kept.cuts, masters.over(kept.under))
    arrays, index = Arrays(job, extension), job.chart.key_index()
    groups: list[LayoutGroup] = []
    told: list[_Step] = []
    full = 0
    for number, group in enumerate(layout.groups):
        above = masters.over(group.master or group.above)
        if group.parts or not group.carried or not above:
            groups.append(group)
            continue
        name = group.master or group.above
        cores = masters.core_group(name)
        following = partial(arrays.following, index[name], above, core_group=cores)
        free = extension.free(
            above,
            group.carried,
            TOLD,
            core_group=cores,
            after=following if full < MOST_FULL else None,
        )
        full += len(free.unused) < TOLD
        told += [
            _Step(group=number, masters=above, cuts=cut, core_group=cores) for cut in free.unused
        ]
        groups.append(replace(group, further=free.further, left=free.left))
    proved = _proved(job, told)
    return replace(
        layout,
        groups=tuple(
            replace(group, unused=tuple(step.cuts for step in proved if step.group == number))
            for number, group in enumerate(groups)
        ),
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class _Step:
    """One combination for a further key, by index of its group and of its masters."""

    group: int
    masters: tuple[int, ...]
    cuts: Bitting
    core_group: str


class _Masters:
    """Which keys open every door that a master opens."""

    def __init__(self, chart: AccessChart) -> None:
        self._chart = chart
        self._doors = chart.doors_of()
        self._index = chart.key_index()

    def over(self, name: str) -> tuple[int, ...]:
        """The master of this name and all above it; none without a name."""
        doors = self._doors[self._index[name]] if name else ()
        if not doors:
            return ()
        found = set(self._chart.openers[doors[0]])
        for door in doors[1:]:
            found &= set(self._chart.openers[door])
        keys = self._chart.keys
        return tuple(k for k in sorted(found) if keys[k].standing is KeyStanding.ACTIVE)

    def core_group(self, name: str) -> str:
        """The core group of the first door that a master opens: further doors join it."""
        return self._chart.doors[self._doors[self._index[name]][0]].core_group


def _proved(job: Job, told: Sequence[_Step]) -> list[_Step]:
    """Those whose doors can be pinned and proved against every key, all of them added at once."""
    if not told:
        return []
    names = _unused_names(job, len(told))
    keys = [*job.chart.keys, *(Key(name=name) for name in names)]
    opens = {
        name: (name, *(job.chart.keys[k].name for k in step.masters))
        for name, step in zip(names, told, strict=True)
    }
    # No keyway: the bench chooses one later, here every key enters.
    doors = [
        Door(name=name, core_group=step.core_group) for name, step in zip(names, told, strict=True)
    ]
    chart = AccessChart.build(doors, keys, opens, job.chart.blanks)
    cuts = job.cuts() | {name: step.cuts for name, step in zip(names, told, strict=True)}
    bittings = [cuts[key.name] for key in chart.keys]
    formats = [job.key_format] * len(names)
    pinned = pin_job(chart, job.key_format, formats, bittings, job.controls)
    report = prove(chart, job.key_format, formats, bittings, job.controls, pinned.cylinders)
    wrong = {one.door for one in report.faults} | {
        dict(one.values).get("door") for one in pinned.findings if one.severity is Severity.FAULT
    }
    return [step for name, step in zip(names, told, strict=True) if name not in wrong]


def _unused_names(job: Job, count: int) -> list[str]:
    """Names for further doors and keys, none of them in use."""
    taken = {door.name for door in job.chart.doors} | {key.name for key in job.chart.keys}
    mark = "further"
    while any(name.startswith(mark) for name in taken):
        mark += "'"
    return [f"{mark} {number}" for number in range(count)]
