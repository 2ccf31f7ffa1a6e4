"""Control keys of a designed job: those given, those chosen for it, or the designer's own."""

from collections.abc import Sequence
from functools import partial

from pinloom.core.bitting import Bitting
from pinloom.core.chart import AccessChart
from pinloom.core.findings import Finding, has_fault
from pinloom.core.job import ControlKey
from pinloom.pinning import check_controls, choose_controls, control_of, core_groups
from pinloom.workflow.avoid import Avoided
from pinloom.workflow.inputs import Inputs

NOTHING = Avoided()


def settle_controls(
    chart: AccessChart,
    inputs: Inputs,
    bittings: Sequence[Bitting],
    reserved: Sequence[ControlKey] = (),
    *,
    avoided: Avoided = NOTHING,
    seed: int = 0,
) -> tuple[tuple[ControlKey, ...], tuple[Finding, ...]]:
    """A control key for every core group. ``reserved`` = the keys that the designer kept room for:
    they stand in where no better one is found; ``avoided`` = other systems of the customer.
    """
    formats = inputs.cylinder_formats
    if not core_groups(chart, formats):
        return tuple(reserved), ()
    chosen = choose_controls(
        chart,
        inputs.formats[0],
        formats,
        bittings,
        inputs.controls,
        seed=seed,
        acceptable=partial(_keeps_away, avoided, inputs.formats[0].least_step),
    )
    controls = chosen.controls
    if has_fault(chosen.findings):
        if not _serve(chart, inputs, reserved):
            return controls, chosen.findings
        controls = tuple(reserved)
    checked = check_controls(chart, inputs.formats[0], formats, bittings, controls)
    return controls, checked


def _keeps_away(avoided: Avoided, least_step: int, levels: Bitting) -> bool:
    """Whether a control key is none of another system's and opens none of its cylinders.
    A position without cuts has no pins.
    """
    return levels not in avoided.bittings and all(
        any(
            cuts and min(abs(cut - own) for own in cuts) >= least_step
            for cut, cuts in zip(levels, stack, strict=True)
        )
        for stack in avoided.stacks
    )


def _serve(chart: AccessChart, inputs: Inputs, controls: Sequence[ControlKey]) -> bool:
    groups = core_groups(chart, inputs.cylinder_formats)
    return all(control_of(controls, group) is not None for group in groups)
