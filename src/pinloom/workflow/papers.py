"""Sheets of a job in memory, for a page that offers them: nothing is written to disk."""

import tempfile
from dataclasses import dataclass
from pathlib import Path

from pinloom.chart.write import write_schedule
from pinloom.core.findings import Finding, has_fault
from pinloom.core.job import Job
from pinloom.sheets import NAMES, Paper, check, make
from pinloom.workflow.folder import previous
from pinloom.workflow.sheets import SCHEDULE, order_for

__all__ = ["Paper", "Papers", "PapersOrder", "papers", "sheet_names"]


@dataclass(frozen=True, slots=True, kw_only=True)
class PapersOrder:
    """Which sheets of a loaded job (none named = all), for whom and on what."""

    job: Job
    folder: Path
    names: tuple[str, ...] = ()
    passphrase: str | None = None
    approved_by: str = ""
    paper: Paper = Paper.A4


@dataclass(frozen=True, slots=True, kw_only=True)
class Papers:
    """Name of a file -> its bytes; nothing with a fault among the findings."""

    files: tuple[tuple[str, bytes], ...]
    findings: tuple[Finding, ...] = ()


def sheet_names() -> dict[str, str]:
    """Every sheet by name, with the set it belongs to."""
    return {name: kind.value for name, kind in NAMES.items()}


def papers(order: PapersOrder) -> Papers:
    """The same files that the command writes."""
    approved = order.approved_by.strip() or None
    found = check(order.job, order.names, approved)
    if has_fault(found):
        return Papers(files=(), findings=found)
    came_from = previous(order.folder, order.passphrase)
    wanted = order_for(
        order.job,
        audited=not order.names or "exposure" in order.names,
        before=came_from.job,
        all_keys=not came_from.grown,
        approved_by=approved,
        paper=order.paper,
    )
    files = make(wanted, order.names)
    if not order.names or "schedule" in order.names:
        with tempfile.TemporaryDirectory(prefix="pinloom-") as folder:
            path = Path(folder) / SCHEDULE
            found += write_schedule(order.job.chart, path)
            if path.exists():
                files[SCHEDULE] = path.read_bytes()
    return Papers(files=tuple(files.items()), findings=found)
