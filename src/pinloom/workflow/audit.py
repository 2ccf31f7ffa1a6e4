"""What else opens the doors of a job; two designs side by side; pictures of it."""

from dataclasses import dataclass
from pathlib import Path

from pinloom.audit import (
    Audit,
    Bin,
    Comparison,
    Countermeasure,
    DoorCount,
    IncidentalKey,
    as_json,
    audit,
    census_bins,
    census_svg,
    compare,
    exposure_svg,
    margin_map,
    margins_svg,
)
from pinloom.core.findings import Finding, Place, fault
from pinloom.core.job import Job
from pinloom.workflow.folder import load
from pinloom.workflow.store import write_private

__all__ = [
    "Audit",
    "AuditOrder",
    "AuditResult",
    "Bin",
    "Comparison",
    "Countermeasure",
    "DoorCount",
    "IncidentalKey",
    "as_json",
    "audit_folder",
    "bins_of",
]

CENSUS, EXPOSURE, MARGINS = "census.svg", "exposure.svg", "margins.svg"


@dataclass(frozen=True, slots=True, kw_only=True)
class AuditOrder:
    """Which job folder to audit, which other to set beside it, where to draw pictures."""

    folder: Path
    passphrase: str | None = None
    beside: Path | None = None
    pictures: Path | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class AuditResult:
    """The audit, or None where a folder cannot be read. ``pictures`` = files written."""

    job: Job | None
    audit: Audit | None
    other: Job | None = None
    comparison: Comparison | None = None
    pictures: tuple[str, ...] = ()
    findings: tuple[Finding, ...] = ()


def audit_folder(order: AuditOrder) -> AuditResult:
    """Read, audit, compare, draw. One passphrase serves both folders."""
    loaded = load(order.folder, order.passphrase)
    found = list(loaded.findings)
    other = None
    if order.beside is not None:
        second = load(order.beside, order.passphrase)
        found += second.findings
        other = second.job
        if loaded.job is not None and other is not None and not _comparable(loaded.job, other):
            found.append(fault("audit-other-chart", Place(file=str(order.beside))))
            other = None
    job = loaded.job
    if job is None or (order.beside is not None and other is None):
        return AuditResult(job=None, audit=None, findings=tuple(found))
    made = audit(job)
    drawn: tuple[str, ...] = ()
    if order.pictures is not None:
        drawn, faults = _draw(order.pictures, job, made)
        found += faults
    return AuditResult(
        job=job,
        audit=made,
        other=other,
        comparison=compare((job, made), (other, audit(other))) if other is not None else None,
        pictures=drawn,
        findings=tuple(found),
    )


def bins_of(made: Audit) -> tuple[Bin, ...]:
    """The census in a few places; none where there is no census."""
    exact, tolerant = made.exact, made.tolerant
    return census_bins(exact, tolerant) if exact is not None and tolerant is not None else ()


def _comparable(one: Job, other: Job) -> bool:
    """Whether two jobs answer the same wishes."""
    return (
        one.chart.openers == other.chart.openers
        and [door.name for door in one.chart.doors] == [door.name for door in other.chart.doors]
        and [key.name for key in one.chart.keys] == [key.name for key in other.chart.keys]
    )


def _draw(folder: Path, job: Job, made: Audit) -> tuple[tuple[str, ...], tuple[Finding, ...]]:
    """Write the pictures, readable by their owner alone: they tell which doors are weakest."""
    texts = {
        CENSUS: census_svg(made),
        EXPOSURE: exposure_svg(made),
        MARGINS: margins_svg(made.name, margin_map(job, made)),
    }
    written = []
    try:
        folder.mkdir(mode=0o700, parents=True, exist_ok=True)
        for name, text in texts.items():
            if text is None:
                continue
            write_private(folder / name, text.encode())
            written.append(name)
    except OSError as error:
        reason = error.strerror or type(error).__name__
        place = Place(file=str(folder))
        return tuple(written), (fault("audit-pictures-unwritable", place, reason=reason),)
    return tuple(written), ()
