"""Of designs of equal merit, one that leaves the usual room in more groups.

The usual wish (30 % of each group) never changes what a design is worth: where a finished design by
fewest master pins leaves some group short of it, one more is looked for with so many further keys
in it, in a few steps. It is taken only when the chart itself has as many master pins with it; then
what was proved of their number holds for it too.
"""

from collections.abc import Mapping
from dataclasses import replace

from pinloom.core.job import Job, Preference
from pinloom.core.request import Designed, DesignRequest
from pinloom.design import design
from pinloom.pinning import pin_job
from pinloom.workflow.keptroom import cuts_of_chart, with_further_keys
from pinloom.workflow.roomtold import RoomTold

STEPS = 300  # of that search
MOST_KEYS = 400  # further keys in it and keys of the chart


def short_groups(told: RoomTold) -> dict[str, int]:
    """Groups that nobody asked for and that are short of the usual room: keys it comes to."""
    return {
        line.under: line.wanted
        for line in told.lines
        if line.usual and line.found is not None and line.found < line.wanted
    }


def roomier(
    request: DesignRequest, outcome: Designed, job: Job, counts: Mapping[str, int]
) -> Designed | None:
    """A design as good as ``outcome``, of which ``job`` was made, with ``counts[master]`` further
    keys beside it; None where none was found.
    """
    keys = len(request.chart.keys) + sum(counts.values())
    by_pins = request.preference is Preference.FEWEST_MASTER_PINS
    if not counts or not by_pins or keys > MOST_KEYS:
        return None
    larger = with_further_keys(request, counts)
    steps = min(request.budget, STEPS)
    quick = replace(larger, seek_remedies=False, alternatives=(), budget=steps)
    found = design(quick)
    if not isinstance(found, Designed):
        return None
    bittings = cuts_of_chart(request.chart, larger.chart, found.bittings)
    formats = request.cylinder_formats
    pinned = pin_job(request.chart, request.key_format, formats, bittings, found.controls)
    if _masters(replace(job, pinning=pinned.cylinders)) != _masters(job):
        return None
    return replace(outcome, bittings=bittings, controls=found.controls)


def _masters(job: Job) -> int:
    """Master pins of all cylinders."""
    return sum(
        door.count * pins.master_pins()
        for door, pins in zip(job.chart.doors, job.pinning, strict=True)
    )
