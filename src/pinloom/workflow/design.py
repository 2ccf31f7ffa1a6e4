"""A chart and hardware to a key system: designed, pinned, proved, written."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from pinloom.core.chart import AccessChart
from pinloom.core.findings import Finding, Place, caution, has_fault
from pinloom.core.hardware import HardwareFormat
from pinloom.core.job import Job, Preference
from pinloom.core.request import Designed, DesignOutcome, DesignRequest
from pinloom.design import design
from pinloom.pinning import (
    Kit,
    Short,
    check_fit,
    parts,
    pin_job,
    short_of,
    special_cylinders,
)
from pinloom.workflow.avoid import Avoided, read_avoided
from pinloom.workflow.controls import settle_controls
from pinloom.workflow.folder import Saved, check_target, save
from pinloom.workflow.formats import all_formats
from pinloom.workflow.inputs import ChartSource, Inputs, read_inputs
from pinloom.workflow.keptroom import RoomAnswer, design_with_room, still_kept
from pinloom.workflow.kit import read_kit, unmentioned
from pinloom.workflow.kitdesign import KitAnswer, KitResult, design_from_kit
from pinloom.workflow.layout import with_layout
from pinloom.workflow.roomier import roomier, short_groups
from pinloom.workflow.roomtold import RoomTold, room_lost, told_refusal, told_room
from pinloom.workflow.roomwish import settle_wishes
from pinloom.workflow.verdict import judge

Progress = Callable[[str], None]
BUDGET = 20_000


@dataclass(frozen=True, slots=True, kw_only=True)
class DesignOrder:
    """What to design and where to write it. ``controls`` as in ``read_inputs``; ``avoid`` = job
    folders and tables of cuts that no key of this job may equal or open; ``remedies`` = whether a
    refusal also looks for what would help, which takes longer than the refusal; ``room`` = wishes
    for further change keys as written on the command line.
    """

    chart: ChartSource
    hardware: str
    out: Path
    name: str = ""
    preference: Preference = Preference.FEWEST_MASTER_PINS
    seed: int = 0
    budget: int = BUDGET
    max_masters: int | None = None
    avoid: tuple[Path, ...] = ()
    controls: tuple[str, ...] = ()
    kit: Path | None = None
    security_drivers: bool = False
    remedies: bool = True
    room: tuple[str, ...] = ()
    passphrase: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class DesignResult:
    """``outcome`` is None with faults in the input; ``job`` is None without a design."""

    chart: AccessChart | None
    outcome: DesignOutcome | None
    job: Job | None
    saved: Saved | None
    findings: tuple[Finding, ...]
    kit: KitResult | None = None
    key_format: HardwareFormat | None = None
    room: RoomTold | None = None


def design_job(order: DesignOrder, progress: Progress | None = None) -> DesignResult:
    """Read everything, design, pin, prove, write. Nothing that fails the proof is a design: it is
    written all the same, marked, and the result says so.
    """
    inputs = read_inputs(order.chart, order.hardware, order.controls)
    found = [*inputs.findings, *check_target(order.out, order.passphrase)]
    avoided = Avoided()
    if inputs.key_format is not None:
        avoided = read_avoided(order.avoid, inputs.key_format, order.passphrase)
        found += avoided.findings
    kit = None
    if inputs.key_format is not None and order.kit is not None:
        read = read_kit(order.kit, inputs.key_format)
        kit = read.kit
        found += read.findings
        found += unmentioned(kit, inputs.key_format, order.kit) if kit else ()
    wishes = None
    if inputs.chart is not None:
        wishes, wrong = settle_wishes(inputs.chart, order.room)
        found += wrong
    if inputs.chart is None or inputs.key_format is None or wishes is None or has_fault(found):
        return _nothing(inputs.chart, found)
    request = _request(order, inputs, inputs.chart, inputs.key_format, avoided)
    room = design_with_room(
        request, wishes.counts, lambda asked: _answer(asked, kit, progress), progress
    )
    answer, outcome = room.answer, room.answer.outcome
    if not isinstance(outcome, Designed):
        lacking = None if kit is None else KitResult(short=(), bound=0, purchase=answer.purchase)
        nothing = _nothing(inputs.chart, found, outcome)
        refused = told_refusal(wishes, room)
        return replace(nothing, kit=lacking, key_format=inputs.key_format, room=refused)
    found += outcome.findings
    if progress:
        progress("pinning and proving")
    job, remarks = _made(order, inputs, inputs.chart, outcome, avoided, room)
    told = told_room(job, wishes)
    short = short_groups(told)
    usual = wishes.usual if short and kit is None and not room.kept else {}
    better = roomier(request, outcome, job, usual)
    if better is not None:
        other, others = _made(
            order, inputs, inputs.chart, better, avoided, RoomAnswer(answer=answer)
        )
        other_told = told_room(other, wishes)
        if other.proof.proved and len(short_groups(other_told)) < len(short):
            job, remarks, told = other, others, other_told
    found += [*remarks, *room_lost(job, wishes)]
    saved = save(job, order.out, order.passphrase)
    return DesignResult(
        chart=inputs.chart,
        outcome=outcome,
        job=saved.job,
        saved=saved,
        findings=(*found, *saved.findings, *replaced(saved)),
        kit=None if kit is None else KitResult(short=_short(kit, job), bound=answer.bound),
        room=told,
    )


def _answer(request: DesignRequest, kit: Kit | None, progress: Progress | None) -> KitAnswer:
    if kit is None:
        return KitAnswer(outcome=design(request, progress))
    return design_from_kit(request, kit, progress)


def _short(kit: Kit, job: Job) -> tuple[Short, ...]:
    formats = [job.format_of(door) for door in range(len(job.chart.doors))]
    return short_of(kit, parts(job.chart, formats, job.pinning))


def replaced(saved: Saved) -> tuple[Finding, ...]:
    """A caution when the folder held other cuts or pins before."""
    if saved.replaced is None:
        return ()
    return (caution("job-replaced", Place(), revision=saved.replaced),)


def _request(
    order: DesignOrder,
    inputs: Inputs,
    chart: AccessChart,
    key_format: HardwareFormat,
    avoided: Avoided,
) -> DesignRequest:
    return DesignRequest(
        chart=chart,
        key_format=key_format,
        cylinder_formats=inputs.cylinder_formats,
        fixed=inputs.fixed,
        preference=order.preference,
        seed=order.seed,
        budget=order.budget,
        avoid=avoided.bittings,
        avoid_stacks=avoided.stacks,
        max_masters=order.max_masters,
        control=inputs.controls,
        alternatives=_larger_formats(key_format) if order.remedies else (),
        seek_remedies=order.remedies,
    )


def _larger_formats(made: HardwareFormat) -> tuple[HardwareFormat, ...]:
    """Shipped formats of the same kind that hold more, the least change first. A refusal tries them
    and tells which would do.
    """
    others = (one for one in all_formats() if (one.core is None) == (made.core is None))
    more = [one for one in others if _room(one) > _room(made)]
    return tuple(sorted(more, key=lambda one: (_room(one), one.name)))


def _room(made: HardwareFormat) -> int:
    """Combinations of depths that can be told apart: a most, before MACS and masters."""
    apart: int = ((made.levels - 1) // made.least_step + 1) ** made.chambers
    return apart


def _made(
    order: DesignOrder,
    inputs: Inputs,
    chart: AccessChart,
    designed: Designed,
    avoided: Avoided,
    room: RoomAnswer,
) -> tuple[Job, tuple[Finding, ...]]:
    wide = room.wide
    controls, remarks = settle_controls(
        wide.chart if wide else chart,
        replace(inputs, cylinder_formats=wide.formats) if wide else inputs,
        wide.bittings if wide else designed.bittings,
        designed.controls,
        avoided=avoided,
        seed=order.seed,
    )
    pinned = pin_job(
        chart,
        inputs.formats[0],
        inputs.cylinder_formats,
        designed.bittings,
        controls,
        secure=order.security_drivers,
    )
    job = Job(
        name=order.name or order.chart.path.stem,
        revision=1,
        chart=chart,
        formats=inputs.formats,
        bittings=designed.bittings,
        controls=controls,
        pinning=pinned.cylinders,
        proof=judge(chart, inputs.formats, designed.bittings, controls, pinned.cylinders),
        preference=order.preference,
        seed=order.seed,
        claims=designed.claims,
    )
    job = replace(job, kept=still_kept(job, room.kept))
    job = with_layout(job, avoided)
    return job, (*remarks, *pinned.findings, *bench_remarks(job))


def bench_remarks(job: Job) -> tuple[Finding, ...]:
    """What a bench should know of a job besides its pins: special cylinders, room in chambers."""
    formats = [job.format_of(door) for door in range(len(job.chart.doors))]
    return (
        *special_cylinders(job.chart, job.key_format, formats, job.bittings),
        *check_fit(job.chart, job.key_format, formats, job.bittings, job.pinning),
    )


def _nothing(
    chart: AccessChart | None, found: Sequence[Finding], outcome: DesignOutcome | None = None
) -> DesignResult:
    return DesignResult(chart=chart, outcome=outcome, job=None, saved=None, findings=tuple(found))
