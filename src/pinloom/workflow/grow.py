"""A changed chart on an existing job: cut keys stay cut, and only what must is re-pinned."""

import csv
import io
from collections.abc import Callable
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING

from pinloom.core.bitting import Bitting
from pinloom.core.findings import Finding, fault, has_fault
from pinloom.core.hardware import HardwareFormat
from pinloom.core.job import Job
from pinloom.core.request import DesignOutcome, DesignRequest
from pinloom.core.stacks import PinnedCylinder
from pinloom.design import design
from pinloom.growth.changes import Change, changes
from pinloom.growth.grow import Grown, NotGrown, grow
from pinloom.pinning import pin_job
from pinloom.workflow.avoid import Avoided
from pinloom.workflow.folder import Saved, check_target, load, save
from pinloom.workflow.inputs import ChartSource, Inputs, read_inputs
from pinloom.workflow.layout import with_layout
from pinloom.workflow.roomtaken import Wanted, grow_beside_kept, room_remarks, with_kept
from pinloom.workflow.verdict import judge

if TYPE_CHECKING:  # the ledger's libraries, only where a ledger is given
    from pinloom.workflow.reuse import Books

__all__ = ["Change", "GrowOrder", "GrowResult", "NotGrown", "changes_csv", "grow_job"]

Progress = Callable[[str], None]
HEADS = ("door or key", "what", "before", "after")
ALL = "*"  # --may-recut: every key


@dataclass(frozen=True, slots=True, kw_only=True)
class GrowOrder:
    """What to grow and where to write it. ``may_recut`` = names of keys, or ``*`` for all;
    ``books`` = the ledger that says which cuts may be offered again.
    """

    folder: Path
    chart: ChartSource
    out: Path
    may_recut: tuple[str, ...] = ()
    passphrase: str | None = None
    books: "Books | None" = None


@dataclass(frozen=True, slots=True, kw_only=True)
class GrowResult:
    """``job`` is None without an answer; ``refusal`` says why where the input was sound."""

    job: Job | None = None
    saved: Saved | None = None
    changes: tuple[Change, ...] = ()
    grown: Grown | None = None
    refusal: NotGrown | None = None
    findings: tuple[Finding, ...] = ()


def grow_job(order: GrowOrder, progress: Progress | None = None) -> GrowResult:
    """Read the job and the wanted chart, grow, pin what must be, prove, write."""
    loaded = load(order.folder, order.passphrase)
    found = [*loaded.findings, *check_target(order.out, order.passphrase)]
    job = loaded.job
    if job is None:
        return GrowResult(findings=tuple(found))
    inputs = read_inputs(order.chart, job.key_format)
    found += inputs.findings
    found += _unknown(order, job)
    if inputs.chart is None or has_fault(found):
        return GrowResult(findings=tuple(found))
    base, avoid, said = _by_the_books(order, job, inputs)
    found += said
    if has_fault(said):
        return GrowResult(findings=tuple(found))
    allowed = {key.name for key in job.chart.keys} if ALL in order.may_recut else order.may_recut
    answer = grow_beside_kept(
        base,
        Wanted(chart=inputs.chart, formats=inputs.cylinder_formats, fixed=inputs.fixed),
        lambda existing, chart, formats, given: grow(
            existing,
            chart,
            formats,
            may_recut=frozenset(allowed),
            given=given,
            avoid=avoid,
            designer=_designer(progress),
            progress=progress,
        ),
        avoid,
    )
    if isinstance(answer, NotGrown):
        return GrowResult(refusal=answer, findings=tuple(found))
    grown, remarks = made_job(job, answer, inputs)
    grown = with_layout(with_kept(grown), Avoided(bittings=avoid))
    found += [*remarks, *room_remarks(grown)]
    what = changes(job, grown)
    if not what and grown.chart == job.chart:
        # Nothing to do is no new revision: the list of what the last one left to do stays.
        grown = replace(grown, claims=job.claims, layout=job.layout)
    saved = save(
        grown,
        order.out,
        order.passphrase,
        changes_csv(what),
        grown_from=job,
        nothing_new=not what,
    )
    return GrowResult(
        job=saved.job,
        saved=saved,
        changes=what,
        grown=answer,
        findings=(*found, *saved.findings),
    )


def made_job(job: Job, answer: Grown, inputs: Inputs) -> tuple[Job, tuple[Finding, ...]]:
    """The grown job: doors in ``answer.repin`` pinned anew, all others exactly as they were."""
    formats = [_format_of(answer.chart.doors[d].hardware, inputs) for d in _doors(answer)]
    pinned = pin_job(answer.chart, job.key_format, formats, answer.bittings, job.controls)
    before = {pins.door: pins for pins in job.pinning}
    anew = set(answer.repin)
    cylinders: tuple[PinnedCylinder, ...] = tuple(
        pins if pins.door in anew else before[pins.door] for pins in pinned.cylinders
    )
    about = [
        finding
        for finding in pinned.findings
        if dict(finding.values).get("door", "") in anew or "door" not in dict(finding.values)
    ]
    grown = replace(
        job,
        revision=job.revision + 1,
        chart=answer.chart,
        formats=inputs.formats,
        bittings=answer.bittings,
        pinning=cylinders,
        proof=judge(answer.chart, inputs.formats, answer.bittings, job.controls, cylinders),
        layout=None,
        claims=answer.claims,
    )
    return grown, tuple(about)


def changes_csv(found: tuple[Change, ...]) -> bytes:
    """The table of changes, as a job folder holds it."""
    text = io.StringIO(newline="")
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow(HEADS)
    for one in found:
        writer.writerow((one.name, one.what, one.before, one.after))
    return text.getvalue().encode("utf-8")


def _doors(answer: Grown) -> range:
    return range(len(answer.chart.doors))


def _format_of(name: str, inputs: Inputs) -> HardwareFormat:
    return next((made for made in inputs.formats if made.name == name), inputs.formats[0])


def _by_the_books(
    order: GrowOrder, job: Job, inputs: Inputs
) -> tuple[Job, tuple[Bitting, ...], list[Finding]]:
    """The job to grow, without keys that may be forgotten, and the cuts that none may get."""
    if order.books is None or inputs.chart is None:
        return job, (), []
    from pinloom.workflow.reuse import held_given, read_reuse, released

    reuse = read_reuse(order.books, job)
    system = order.books.system or job.name
    slim, said = released(job, inputs.chart.key_index().keys(), reuse)
    found = [*reuse.findings, *said]
    found += held_given(inputs.chart, inputs.fixed, job, reuse, system)
    return slim, tuple(sorted(reuse.held)), found


def _unknown(order: GrowOrder, job: Job) -> list[Finding]:
    known = {key.name for key in job.chart.keys}
    return [
        fault("growth-recut-unknown", key=name)
        for name in order.may_recut
        if name != ALL and name not in known
    ]


def _designer(progress: Progress | None) -> Callable[[DesignRequest], DesignOutcome]:
    def ask(request: DesignRequest) -> DesignOutcome:
        return design(request, progress)

    return ask
