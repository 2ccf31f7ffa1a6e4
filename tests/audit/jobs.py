"""Small jobs for the audit's tests."""

from collections.abc import Mapping, Sequence

from pinloom.core.bitting import Bitting
from pinloom.core.chart import AccessChart, Door, Key
from pinloom.core.hardware import HardwareFormat
from pinloom.core.job import ControlKey, Job
from pinloom.core.stacks import PinnedCylinder
from pinloom.proof import prove
from tests.proof.formats import us_6x10_015
from tests.proof.jobs import k1_bittings, k1_chart, pin_chart


def job_of(
    chart: AccessChart,
    made: HardwareFormat,
    bittings: Sequence[Bitting],
    pinning: Sequence[PinnedCylinder] | None = None,
    controls: Sequence[ControlKey] = (),
    others: Sequence[HardwareFormat] = (),
) -> Job:
    """A job with its proof; pinned for the chart's marks unless pins are given."""
    pins = tuple(pin_chart(chart, bittings) if pinning is None else pinning)
    by_name = {one.name: one for one in (made, *others)}
    formats = [by_name[door.hardware or made.name] for door in chart.doors]
    return Job(
        name="test",
        revision=1,
        chart=chart,
        formats=(made, *others),
        bittings=tuple(bittings),
        controls=tuple(controls),
        pinning=pins,
        proof=prove(chart, made, formats, bittings, controls, pins),
    )


def chart_of(opens: Mapping[str, str], *extra: str) -> AccessChart:
    """Doors with their keys as words, e.g. ``{"Loft": "a TMK"}``; ``extra`` keys open nothing."""
    keys = {key for words in opens.values() for key in words.split()} | set(extra)
    return AccessChart.build(
        [Door(name=door) for door in opens],
        [Key(name=key) for key in keys],
        {door: words.split() for door, words in opens.items()},
    )


def k1_job(texts: dict[str, str]) -> Job:
    """K-1 on the format of `interface`'s golden example."""
    made = us_6x10_015()
    return job_of(k1_chart(), made, k1_bittings(made, texts))
