"""A chart given to the page becomes a job of its own, in a folder named after it.

The texts go through the same readers and checks as files on the command line, in a folder that is
gone afterwards; nothing that stands in the folder of jobs is written over.
"""

import tempfile
from dataclasses import dataclass
from pathlib import Path

from pinloom.core.findings import Finding, fault
from pinloom.core.names import clean
from pinloom.workflow.design import DesignOrder, DesignResult, design_job
from pinloom.workflow.inputs import ChartSource
from pinloom.workflow.shelf import speakable

BUDGET = 3_000  # steps: a person waits for it at the page
LONGEST_NAME = 80
KINDS = (".csv", ".xlsx")


@dataclass(frozen=True, slots=True, kw_only=True)
class Given:
    """A file as it was given: its name, of which only the ending counts, and its bytes."""

    name: str
    data: bytes

    @property
    def kind(self) -> str:
        """``.csv`` or ``.xlsx``; anything else is read as CSV and told by its own faults."""
        ending = Path(self.name).suffix.lower()
        return ending if ending in KINDS else ".csv"


@dataclass(frozen=True, slots=True, kw_only=True)
class FreshOrder:
    """What to make of a chart. ``jobs`` = the folder of jobs."""

    jobs: Path
    name: str
    hardware: str
    chart: Given
    keys: Given | None = None
    symbols: bool = False


def fresh_job(order: FreshOrder) -> DesignResult:
    """Design the chart into a new folder, or say why not."""
    name = clean(order.name)
    found = _name_faults(order.jobs, name)
    if not order.chart.data.strip():
        found += (fault("web-no-chart"),)
    if found:
        return DesignResult(chart=None, outcome=None, job=None, saved=None, findings=found)
    with tempfile.TemporaryDirectory(prefix="pinloom-") as place:
        chart = Path(place) / f"chart{order.chart.kind}"
        chart.write_bytes(order.chart.data)
        keys = None
        if order.keys is not None and order.keys.data.strip():
            keys = Path(place) / f"keys{order.keys.kind}"
            keys.write_bytes(order.keys.data)
        return design_job(
            DesignOrder(
                chart=ChartSource(path=chart, keys=keys, symbols=order.symbols),
                hardware=order.hardware,
                out=order.jobs / name,
                name=name,
                budget=BUDGET,
            )
        )


def _name_faults(jobs: Path, name: str) -> tuple[Finding, ...]:
    if not name or len(name) > LONGEST_NAME or "/" in name or not speakable(name):
        return (fault("web-name-unusable"),)
    there = {entry.name.casefold() for entry in jobs.iterdir()} if jobs.is_dir() else set()
    return (fault("web-name-taken", name=name),) if name.casefold() in there else ()
