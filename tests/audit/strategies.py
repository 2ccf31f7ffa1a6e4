"""Random tiny jobs for the audit: charts pinned as they ask, on 2-3 chambers of 3-5 depths."""

from dataclasses import replace

from hypothesis import strategies as st

from pinloom.core.chart import AccessChart, Door, Key
from pinloom.core.job import Job
from pinloom.core.stacks import PinnedCylinder
from tests.audit.jobs import job_of
from tests.proof.formats import tiny
from tests.proof.jobs import pins_for


@st.composite
def jobs(draw: st.DrawFn) -> Job:
    """One to five doors, one to five keys; proved or not; some chambers unpinned."""
    chambers, depths = draw(st.integers(2, 3)), draw(st.integers(3, 5))
    made = tiny(
        chambers,
        depths,
        least_step=draw(st.sampled_from([1, 2])),
        macs=draw(st.integers(1, depths)),
    )
    cuts = st.tuples(*[st.integers(0, depths - 1)] * chambers)
    keys = [Key(name=f"k{i}") for i in range(draw(st.integers(1, 5)))]
    names = [key.name for key in keys]
    doors = [Door(name=f"d{i}") for i in range(draw(st.integers(1, 5)))]
    chart = AccessChart.build(
        doors,
        keys,
        {d.name: draw(st.lists(st.sampled_from(names), min_size=1, unique=True)) for d in doors},
    )
    bittings = [draw(cuts) for _ in keys]
    left = [{c for c in range(chambers) if draw(st.integers(0, 9)) == 0} for _ in range(len(doors))]
    pinning = [
        pins_for(door.name, [bittings[key] for key in openers], unpinned)
        for door, openers, unpinned in zip(chart.doors, chart.openers, left, strict=True)
    ]
    return job_of(chart, made, bittings, pinning)


def mirrored(job: Job) -> Job:
    """The same job with every depth relabelled: shallow is deep and deep is shallow."""
    top = job.key_format.levels - 1
    chambers = [
        [
            None
            if stack is None
            else replace(
                stack, bottom=top - stack.cuts()[-1], masters=tuple(reversed(stack.masters))
            )
            for stack in cylinder.chambers
        ]
        for cylinder in job.pinning
    ]
    return job_of(
        job.chart,
        job.key_format,
        [tuple(top - level for level in levels) for levels in job.bittings],
        [
            PinnedCylinder(door=cylinder.door, chambers=tuple(stacks))
            for cylinder, stacks in zip(job.pinning, chambers, strict=True)
        ],
    )
