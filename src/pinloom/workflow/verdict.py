"""The verdict on a job: who opens what, proved, and pins that a bench can set.

The proof looks at lengths alone. A stack that opens for the right keys but cannot be assembled (no
driver is made for it, a build-up pin that would tilt) is no answer either, so what pinning finds
wrong with the pins counts as a fault of the job. Made again each time a job is loaded.
"""

from collections.abc import Iterable, Sequence
from dataclasses import replace

from pinloom.core.bitting import Bitting
from pinloom.core.chart import AccessChart
from pinloom.core.findings import Finding, Severity
from pinloom.core.hardware import HardwareFormat
from pinloom.core.job import ControlKey, FaultKind, Job, ProofFault, ProofReport
from pinloom.core.stacks import PerStack, PinnedCylinder, PinStack
from pinloom.pinning import stack_faults
from pinloom.proof import findings, prove


def judge(
    chart: AccessChart,
    formats: Sequence[HardwareFormat],
    bittings: Sequence[Bitting],
    controls: Sequence[ControlKey],
    pinning: Sequence[PinnedCylinder],
) -> ProofReport:
    """The proof, with pins that cannot be set added to its faults. ``formats`` as in a ``Job``."""
    by_name = {made.name: made for made in formats}
    by_door = [by_name.get(door.hardware, formats[0]) for door in chart.doors]
    report = prove(chart, formats[0], by_door, bittings, controls, pinning)
    known = {one.door for one in report.faults if one.kind is FaultKind.BAD_STACK}
    more = tuple(_unbuildable(by_door, pinning, known))
    return replace(report, faults=(*report.faults, *more)) if more else report


def judge_job(job: Job) -> ProofReport:
    """The verdict on exactly this job."""
    return judge(job.chart, job.formats, job.bittings, job.controls, job.pinning)


def fault_findings(job: Job) -> tuple[Finding, ...]:
    """The job's faults as findings, in their order."""
    return findings(job.proof)


def _unbuildable(
    formats: Sequence[HardwareFormat], pinning: Sequence[PinnedCylinder], known: set[str]
) -> Iterable[ProofFault]:
    """One fault a chamber, for doors whose pins the proof has nothing against."""
    faults = PerStack(_faults)
    for made, cylinder in zip(formats, pinning, strict=True):
        if cylinder.door in known:
            continue
        for chamber, stack in enumerate(cylinder.chambers):
            if stack is None:
                continue
            for one in faults.of(made, chamber, stack):
                kind = one.code.removeprefix("pinning-").replace("-", " ")
                yield ProofFault(
                    kind=FaultKind.BAD_STACK,
                    key="",
                    door=cylinder.door,
                    detail=f"chamber {chamber + 1}: {kind}",
                )


def _faults(made: HardwareFormat, chamber: int, stack: PinStack) -> tuple[Finding, ...]:
    alone = PinnedCylinder(door="", chambers=(*(None,) * chamber, stack))
    return tuple(one for one in stack_faults(made, alone) if one.severity is Severity.FAULT)
