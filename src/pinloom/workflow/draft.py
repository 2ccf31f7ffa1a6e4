"""A building's records to a first schedule, and a proved job's keying back to them."""

from dataclasses import dataclass
from pathlib import Path

from pinloom.chart import read_chart
from pinloom.core.findings import Finding, Place, fault, has_fault
from pinloom.core.job import Job
from pinloom.draft import (
    DraftSchedule,
    Grouping,
    give_back,
    make_schedule,
    read_building,
    write_schedule,
)
from pinloom.workflow.folder import load

__all__ = ["DraftResult", "DraftSchedule", "GaveBack", "Grouping", "draft", "give_back_job"]


@dataclass(frozen=True, slots=True, kw_only=True)
class DraftResult:
    """``schedule`` is None with faults in the input; ``written`` says whether the file is there."""

    schedule: DraftSchedule | None
    written: bool
    findings: tuple[Finding, ...]


def draft(
    building: Path, out: Path, by: Grouping, *, services: bool = True, replace: bool = False
) -> DraftResult:
    """Read the building, draft its schedule, write the workbook.

    A file that is there is kept unless ``replace`` says otherwise: a person may have edited it.
    """
    read = read_building(building)
    found = list(read.findings)
    if out.suffix.lower() != ".xlsx":
        found.append(fault("draft-out-kind", Place(file=out.name)))
    if out.exists() and not replace:
        found.append(fault("draft-out-there", Place(file=out.name)))
    if read.building is None or has_fault(found):
        return DraftResult(schedule=None, written=False, findings=tuple(found))
    schedule = make_schedule(read.building, by, services=services)
    found += schedule.findings
    if schedule.chart is None:
        return DraftResult(schedule=None, written=False, findings=tuple(found))
    try:
        write_schedule(schedule, out)
    except OSError as error:
        found.append(_unwritable(out, error))
        return DraftResult(schedule=None, written=False, findings=tuple(found))
    if read_chart(out).chart != schedule.chart:
        raise AssertionError("the draft as written does not read back as drafted")
    return DraftResult(schedule=schedule, written=True, findings=tuple(found))


@dataclass(frozen=True, slots=True, kw_only=True)
class GaveBack:
    """``job`` is None when nothing was written."""

    job: Job | None
    findings: tuple[Finding, ...]


def give_back_job(
    folder: Path,
    building: Path,
    out: Path,
    *,
    plain: Path | None = None,
    passphrase: str | None = None,
) -> GaveBack:
    """Load a job, prove it again, write its keying as COBie Attribute rows and, with ``plain``, as
    a plain workbook.
    """
    loaded = load(folder, passphrase)
    read = read_building(building)
    # Oddities of the building were told when it was drafted; only what stops the work is told now.
    found = [*loaded.findings, *(f for f in read.findings if has_fault([f]))]
    found += [
        fault("draft-out-kind", Place(file=path.name))
        for path in (out, plain)
        if path is not None and path.suffix.lower() != ".xlsx"
    ]
    if loaded.job is None or read.building is None or has_fault(found):
        return GaveBack(job=None, findings=tuple(found))
    try:
        found += give_back(loaded.job, read.building, out, plain=plain)
    except OSError as error:
        found.append(_unwritable(out, error))
    job = None if has_fault(found) else loaded.job
    return GaveBack(job=job, findings=tuple(found))


def _unwritable(path: Path, error: OSError) -> Finding:
    reason = error.strerror or "unknown reason"
    return fault("draft-out-unwritable", Place(file=path.name), reason=reason)
