"""A construction key on a proved job: both states written as job folders, each proved."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from pinloom.core.bench import Repin
from pinloom.core.findings import Finding, Place, fault, has_fault
from pinloom.core.job import Job
from pinloom.pinning import BuildingState, ConstructionMethod, construct
from pinloom.workflow.bench import formats_of
from pinloom.workflow.folder import Saved, check_target, load, save
from pinloom.workflow.roomtaken import with_kept
from pinloom.workflow.verdict import judge

BEFORE, AFTER = "before", "after"

__all__ = [
    "AFTER",
    "BEFORE",
    "ConstructionMethod",
    "ConstructionOrder",
    "ConstructionResult",
    "construction_key",
]


@dataclass(frozen=True, slots=True, kw_only=True)
class ConstructionOrder:
    """Which job, the doors of the key (by name, or all that the key ``under`` opens; neither = all
    of the job), the method, and where to write both states.
    """

    folder: Path
    out: Path
    method: ConstructionMethod
    doors: tuple[str, ...] = ()
    under: str = ""
    key: str = "construction"
    passphrase: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class ConstructionResult:
    """``before`` and ``after`` as written, None with faults. ``impossible`` = the doors share no
    operating cut, so no key opens all of them; otherwise a fault only says that none was found.
    """

    job: Job | None
    before: Saved | None = None
    after: Saved | None = None
    changes: tuple[Repin, ...] = ()
    impossible: bool = False
    findings: tuple[Finding, ...] = ()


def construction_key(order: ConstructionOrder) -> ConstructionResult:
    """Read, find the key, prove the job before and after the changeover, write both."""
    loaded = load(order.folder, order.passphrase)
    job = loaded.job
    found = list(loaded.findings)
    found += check_target(order.out / BEFORE, order.passphrase)
    found += check_target(order.out / AFTER, order.passphrase)
    if job is not None:
        found += _order_faults(order, job)
    if job is None or has_fault(found):
        return ConstructionResult(job=None, findings=tuple(found))
    made = construct(
        job.chart,
        job.key_format,
        formats_of(job),
        job.bittings,
        order.method,
        job.controls,
        _doors(order, job) or None,
        order.key,
    )
    if isinstance(made, tuple):
        impossible = any(one.code == "pinning-construction-no-cut" for one in made)
        return ConstructionResult(job=job, impossible=impossible, findings=(*found, *made))
    saved = [
        save(_as_job(job, state, word), order.out / folder, order.passphrase)
        for folder, state, word in (
            (BEFORE, made.before, "while building"),
            (AFTER, made.after, "after the changeover"),
        )
    ]
    return ConstructionResult(
        job=job,
        before=saved[0],
        after=saved[1],
        changes=made.changes,
        findings=(*found, *made.findings, *(one for s in saved for one in s.findings)),
    )


def _doors(order: ConstructionOrder, job: Job) -> tuple[str, ...]:
    """The doors named, and those that the key named opens, in the chart's order."""
    chart = job.chart
    below = chart.doors_of()[chart.key_index()[order.under]] if order.under else ()
    wanted = {*order.doors, *(chart.doors[door].name for door in below)}
    return tuple(door.name for door in chart.doors if door.name in wanted)


def _order_faults(order: ConstructionOrder, job: Job) -> Sequence[Finding]:
    place = Place(file=str(order.folder))
    found = []
    if not job.proof.proved:
        found.append(fault("bench-not-proved", place))
    if order.key in job.chart.key_index():
        found.append(fault("construction-key-known", place, key=order.key))
    if order.under and order.under not in job.chart.key_index():
        found.append(fault("construction-key-unknown", place, key=order.under))
    known = job.chart.door_index()
    found += [
        fault("construction-door-unknown", place, door=door)
        for door in order.doors
        if door not in known
    ]
    return found


def _as_job(job: Job, state: BuildingState, word: str) -> Job:
    made = replace(
        job,
        name=f"{job.name}, {word}",
        revision=1,
        chart=state.chart,
        bittings=state.bittings,
        pinning=state.cylinders,
        proof=judge(state.chart, job.formats, state.bittings, job.controls, state.cylinders),
        layout=None,
        claims=(),
    )
    return with_kept(made)
