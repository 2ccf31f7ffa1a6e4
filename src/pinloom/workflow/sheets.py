"""A job folder to paper: loaded, proved again, audited, worked out for the bench, written."""

from collections import Counter
from dataclasses import dataclass, field
from pathlib import Path

from pinloom.audit import Audit, audit
from pinloom.chart.write import write_schedule
from pinloom.core.findings import Finding, Place, fault, has_fault
from pinloom.core.job import Job
from pinloom.pinning import key_cutting, parts
from pinloom.sheets import (
    AuditDigest,
    AuditLine,
    KeyControl,
    Minutes,
    Paper,
    SheetOrder,
    check,
    make,
    to_pin,
)
from pinloom.workflow.folder import load, previous
from pinloom.workflow.pinchart import describe_cylinder
from pinloom.workflow.store import write_private

__all__ = ["KeyControl", "Minutes", "Paper", "SheetsOrder", "SheetsResult", "order_for", "sheets"]

SCHEDULE = "schedule.xlsx"


@dataclass(frozen=True, slots=True, kw_only=True)
class SheetsOrder:
    """Which job, where to, which sheets (none named = all) and how."""

    folder: Path
    out: Path
    names: tuple[str, ...] = ()
    passphrase: str | None = None
    since: Path | None = None  # job folder of the revision to compare with
    all_keys: bool = False  # of a grown job too, not only what is to be cut and pinned
    approved_by: str | None = None
    paper: Paper = Paper.A4
    key_control: KeyControl = KeyControl.VISUAL
    spoilage: int = 5
    minutes: Minutes = field(default_factory=Minutes)


@dataclass(frozen=True, slots=True, kw_only=True)
class SheetsResult:
    """``files`` = names of what was written; ``job`` is None when nothing was. ``unproved`` tells
    a job that is not proved from other bad input.
    """

    job: Job | None
    files: tuple[str, ...] = ()
    unproved: bool = False
    findings: tuple[Finding, ...] = ()


def sheets(order: SheetsOrder) -> SheetsResult:
    """Write the sheets of a job, readable by their owner alone."""
    loaded = load(order.folder, order.passphrase)
    found = list(loaded.findings)
    came_from = previous(order.folder, order.passphrase)
    earlier, grown = came_from.job, came_from.grown
    if order.since is not None:
        since = load(order.since, order.passphrase)
        found += [one for one in since.findings if has_fault([one])]
        earlier, grown = since.job, since.job is not None
    job = loaded.job
    approved = (order.approved_by or "").strip() or None
    if job is not None:
        found += check(job, order.names, approved)
    if job is None or has_fault(found):
        unproved = job is not None and not job.proof.proved
        return SheetsResult(job=None, unproved=unproved, findings=tuple(found))
    files = make(
        order_for(
            job,
            audited=not order.names or "exposure" in order.names,
            before=earlier,
            all_keys=order.all_keys or not grown,
            approved_by=approved,
            paper=order.paper,
            key_control=order.key_control,
            spoilage=order.spoilage,
            minutes=order.minutes,
        ),
        order.names,
    )
    try:
        written = _write(order.out, files)
        if not order.names or "schedule" in order.names:
            found += write_schedule(job.chart, order.out / SCHEDULE)
            (order.out / SCHEDULE).chmod(0o600)
            written.append(SCHEDULE)
    except OSError as error:
        reason = error.strerror or "unknown reason"
        place = Place(file=str(order.out))
        found.append(fault("sheets-unwritable", place, reason=reason))
        return SheetsResult(job=None, findings=tuple(found))
    return SheetsResult(job=job, files=tuple(written), findings=tuple(found))


def order_for(
    job: Job,
    *,
    audited: bool = True,
    before: Job | None = None,
    all_keys: bool = True,
    approved_by: str | None = None,
    paper: Paper = Paper.A4,
    key_control: KeyControl = KeyControl.VISUAL,
    spoilage: int = 5,
    minutes: Minutes | None = None,
) -> SheetOrder:
    """What other stages know of a proved job, gathered for its sheets. Without ``all_keys`` the
    sheets of the bench count only what is new since ``before``.
    """
    formats = [job.format_of(door) for door in range(len(job.chart.doors))]
    since_before = before is not None and not all_keys
    return SheetOrder(
        job=job,
        cutting=key_cutting(job.chart, job.key_format, formats, job.bittings, job.controls),
        pins=tuple(
            describe_cylinder(made, pins) for made, pins in zip(formats, job.pinning, strict=True)
        ),
        parts=parts(job.chart, formats, job.pinning, to_pin(job, before if since_before else None)),
        audit=_digest(audit(job)) if audited else None,
        before=before,
        since_before=since_before,
        approved_by=approved_by,
        paper=paper,
        key_control=key_control,
        spoilage=spoilage,
        minutes=minutes or Minutes(),
    )


def _digest(made: Audit) -> AuditDigest:
    """The audit's figures without any cut."""
    facts = [("Unintended combinations, summed over all doors", f"{made.incidental:,}")]
    if made.tolerant is not None:
        facts.append(
            (
                "Cuttable keys that open at least one door",
                f"{made.tolerant.opening:,} of {made.tolerant.keys:,}",
            )
        )
    if made.neighbours.margins:
        chambers, steps, pairs = made.neighbours.margins[0]
        facts.append(
            (
                "Narrowest refusal of an issued key",
                f"chambers: {chambers}, steps: {steps}, pairs of key and door: {pairs:,}",
            )
        )
    facts.append(("Keys that cross the hierarchy", f"{len(made.standards.selective):,}"))
    facts.append(("Cross-keyed doors", f"{len(made.standards.cross_keyed):,}"))
    lowers = Counter(way for door in made.exposure for way in door.lowers)
    doors = sorted(made.doors, key=lambda one: (one.issued - one.tolerant, one.door))
    return AuditDigest(
        facts=tuple(facts),
        doors=tuple(
            AuditLine(door=one.door, exact=one.exact, tolerant=one.tolerant, issued=one.issued)
            for one in doors
        ),
        advice=tuple(
            f"{way.value[0].upper()}{way.value[1:]}: would lower {count:,} doors."
            for way, count in sorted(lowers.items(), key=lambda item: (-item[1], item[0].value))
        ),
    )


def _write(out: Path, files: dict[str, bytes]) -> list[str]:
    out.mkdir(mode=0o700, parents=True, exist_ok=True)
    for name, data in files.items():
        write_private(out / name, data)
    return list(files)
