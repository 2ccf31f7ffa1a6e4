"""Existing cuts, and pins found in the field, taken as they are: pinned, proved, written."""

from dataclasses import dataclass, replace
from pathlib import Path

from pinloom.core.bitting import Bitting
from pinloom.core.chart import AccessChart
from pinloom.core.findings import Finding, has_fault
from pinloom.core.job import ControlKey, Job
from pinloom.core.stacks import PinnedCylinder
from pinloom.pinning import check_controls, pin_job, sign_off, stack_faults
from pinloom.workflow.bittings import cuts_for, read_cuts
from pinloom.workflow.controls import settle_controls
from pinloom.workflow.design import bench_remarks
from pinloom.workflow.folder import Saved, check_target, save
from pinloom.workflow.inputs import ChartSource, Inputs, read_inputs
from pinloom.workflow.layout import with_layout
from pinloom.workflow.pinnings import FieldPinning, fill, read_pinning
from pinloom.workflow.verdict import judge


@dataclass(frozen=True, slots=True, kw_only=True)
class PinOrder:
    """What to pin and where to write it. ``controls`` as in ``read_inputs``."""

    chart: ChartSource
    hardware: str
    bittings: Path
    out: Path
    pinning: Path | None = None
    controls: tuple[str, ...] = ()
    security_drivers: bool = False
    name: str = ""
    passphrase: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class PinResult:
    """The job as written, or None with faults in the input. ``findings`` are all that was found."""

    job: Job | None
    saved: Saved | None
    findings: tuple[Finding, ...]


def pin(order: PinOrder) -> PinResult:
    """Read everything, pin what has no pins yet, prove, write."""
    inputs = read_inputs(order.chart, order.hardware, order.controls)
    found = [*inputs.findings, *check_target(order.out, order.passphrase)]
    chart, made = inputs.chart, inputs.key_format
    if chart is None or made is None:
        # What can be said of the cuts alone is said now, not after the chart is mended.
        found += read_cuts(order.bittings, made).findings if made else ()
        return PinResult(job=None, saved=None, findings=tuple(found))
    whole = [(group, cuts) for group, cuts in inputs.controls if None not in cuts]
    cuts = cuts_for(order.bittings, chart, made, inputs.fixed, whole)
    found += cuts.findings
    field = None
    if order.pinning is not None:
        field = read_pinning(order.pinning, chart, inputs.cylinder_formats)
        found += field.findings
    if cuts.bittings is None or has_fault(found):
        return PinResult(job=None, saved=None, findings=tuple(found))
    controls, remarks = _controls(inputs, chart, cuts.bittings, cuts.controls)
    found += remarks
    cylinders, remarks = _pins(
        inputs, cuts.bittings, controls, field, secure=order.security_drivers
    )
    found += remarks
    job = Job(
        name=order.name or order.chart.path.stem,
        revision=1,
        chart=chart,
        formats=inputs.formats,
        bittings=cuts.bittings,
        controls=controls,
        pinning=cylinders,
        proof=judge(chart, inputs.formats, cuts.bittings, controls, cylinders),
    )
    job = with_layout(job)
    found += bench_remarks(job)
    saved = save(job, order.out, order.passphrase)
    return PinResult(job=saved.job, saved=saved, findings=(*found, *saved.findings))


def _controls(
    inputs: Inputs,
    chart: AccessChart,
    bittings: tuple[Bitting, ...],
    known: tuple[ControlKey, ...],
) -> tuple[tuple[ControlKey, ...], tuple[Finding, ...]]:
    """The control keys on record; where one was given with free cuts, choices for what is missing.
    Where nothing was said nothing is chosen: an existing core has a control key somewhere.
    """
    groups = {control.group for control in known}
    wanted = [(g, cuts) for g, cuts in inputs.controls if None in cuts and g not in groups]
    if not wanted:
        formats = inputs.cylinder_formats
        return known, check_controls(chart, inputs.formats[0], formats, bittings, known)
    given = (*((control.group, control.levels) for control in known), *wanted)
    return settle_controls(chart, replace(inputs, controls=given), bittings)


def _pins(
    inputs: Inputs,
    bittings: tuple[Bitting, ...],
    controls: tuple[ControlKey, ...],
    field: FieldPinning | None,
    *,
    secure: bool,
) -> tuple[tuple[PinnedCylinder, ...], tuple[Finding, ...]]:
    """Pins of every door: those found in the field, and the program's own for the rest."""
    if inputs.chart is None or inputs.key_format is None:
        raise ValueError("nothing to pin")
    formats = inputs.cylinder_formats
    pinned = pin_job(inputs.chart, inputs.key_format, formats, bittings, controls, secure=secure)
    if field is None:
        return pinned.cylinders, pinned.findings
    cylinders, filled = fill(field, pinned.cylinders, formats)
    # What is wrong with computed pins does not matter where others are in the cylinder.
    found = [
        one
        for one in pinned.findings
        if dict(one.values).get("door") not in field.doors or one.code == "pinning-no-control"
    ]
    for cylinder, made in zip(cylinders, formats, strict=True):
        if cylinder.door in field.doors:
            found += stack_faults(made, cylinder) + sign_off(cylinder)
    return cylinders, (*filled, *found)
