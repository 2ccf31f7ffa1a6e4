"""The wanted chart becomes the job's next revision: with every cut key kept, or cut anew.

It goes the way of the commands, through a workbook and format files in a folder that is gone
afterwards, so that a chart edited on a page meets every check that a file meets.
"""

import tempfile
from dataclasses import dataclass
from pathlib import Path

from pinloom.chart.write import write_matrix
from pinloom.core.chart import AccessChart
from pinloom.core.findings import Finding, has_fault
from pinloom.core.job import Job
from pinloom.core.request import DesignOutcome
from pinloom.hardware import format_text
from pinloom.workflow.design import DesignOrder, design_job
from pinloom.workflow.grow import Change, GrowOrder, NotGrown, grow_job
from pinloom.workflow.inputs import ChartSource

__all__ = ["MakeOrder", "Made", "make_next"]

BUDGET = 3_000  # steps: a person waits for it at the page


@dataclass(frozen=True, slots=True, kw_only=True)
class MakeOrder:
    """``anew`` = all keys may get new cuts; else every key keeps the cuts it has."""

    folder: Path
    job: Job
    chart: AccessChart
    anew: bool
    passphrase: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Made:
    """``job`` is None where nothing was written; then findings, ``refusal`` (of growth) or
    ``outcome`` (of design) say why.
    """

    job: Job | None
    findings: tuple[Finding, ...]
    changes: tuple[Change, ...] = ()
    refusal: NotGrown | None = None
    outcome: DesignOutcome | None = None


def make_next(order: MakeOrder) -> Made:
    """Write the next revision, or say why there is none."""
    with tempfile.TemporaryDirectory(prefix="pinloom-") as name:
        place = Path(name)
        path = place / "chart.xlsx"
        found = write_matrix(order.chart, path)
        if has_fault(found):
            return Made(job=None, findings=found)
        for made in order.job.formats:
            (place / made.name).write_text(format_text(made), encoding="utf-8")
        own = place / f"{order.job.key_format.name}.toml"
        own.write_text(format_text(order.job.key_format), encoding="utf-8")
        source = ChartSource(path=path)
        return _anew(order, source, own) if order.anew else _grown(order, source)


def _grown(order: MakeOrder, source: ChartSource) -> Made:
    result = grow_job(
        GrowOrder(folder=order.folder, chart=source, out=order.folder, passphrase=order.passphrase)
    )
    return Made(
        job=result.job,
        findings=result.findings,
        changes=result.changes,
        refusal=result.refusal,
    )


def _anew(order: MakeOrder, source: ChartSource, hardware: Path) -> Made:
    result = design_job(
        DesignOrder(
            chart=source,
            hardware=str(hardware),
            out=order.folder,
            name=order.job.name,
            preference=order.job.preference,
            seed=order.job.seed,
            budget=BUDGET,
            passphrase=order.passphrase,
        )
    )
    return Made(job=result.job, findings=result.findings, outcome=result.outcome)
