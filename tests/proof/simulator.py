"""A plain, slow lock: one key, one cylinder, one chamber at a time, in steps and loops only.

It shares no code with the proof, and works from levels where the proof works from lengths.
"""

from pinloom.core.bitting import Bitting
from pinloom.core.chart import AccessChart, Door, KeyStanding
from pinloom.core.hardware import CoreKind, HardwareFormat
from pinloom.core.job import ControlKey, FaultKind, ProofReport
from pinloom.core.stacks import PinnedCylinder, PinStack

Fault = tuple[FaultKind, str, str]


def distance(level: int, stack: PinStack | None, above: int = 0) -> int:
    """Steps from a cut to the nearest joint, ``above`` = height of the line in steps."""
    if stack is None:
        return 0
    at = [stack.bottom]
    for pin in stack.masters:
        at.append(at[-1] + pin)
    if stack.buildup is not None:
        at.append(at[-1] + stack.buildup)
    best = 10**6
    for joint in at:
        best = min(best, abs(joint - level - above))
    return best


def distances(
    levels: Bitting, cylinder: PinnedCylinder, made: HardwareFormat, control: bool = False
) -> list[int]:
    """Per chamber, towards the operating or the control line."""
    found = []
    for chamber, stack in enumerate(cylinder.chambers):
        above = 0
        if control and made.core is not None:
            small = made.core.kind is CoreKind.SMALL
            if small or chamber in made.core.control_chambers:
                above = made.core.offset
        found.append(distance(levels[chamber], stack, above))
    return found


def simulate(
    chart: AccessChart,
    made: HardwareFormat,
    bittings: tuple[Bitting, ...],
    controls: tuple[ControlKey, ...],
    pinning: tuple[PinnedCylinder, ...],
) -> set[Fault]:
    """All disagreements of sound stacks with the chart."""
    faults: set[Fault] = set()
    for d, door in enumerate(chart.doors):
        for k, key in enumerate(chart.keys):
            marked = k in chart.openers[d] and key.standing is KeyStanding.ACTIVE
            enters = chart.enters(key, door)
            away = max(distances(bittings[k], pinning[d], made))
            if marked and not (enters and away == 0):
                faults.add((FaultKind.BLOCKED, key.name, door.name))
            if not marked and enters and away < made.least_step:
                faults.add((FaultKind.OPENS, key.name, door.name))
            up = max(distances(bittings[k], pinning[d], made, control=True))
            if made.core and enters and up < made.least_step:
                faults.add((FaultKind.REACHES_CONTROL, key.name, door.name))
        for control in controls:
            faults |= _control_faults(control, door, pinning[d], made)
    return faults


def _control_faults(
    control: ControlKey, door: Door, cylinder: PinnedCylinder, made: HardwareFormat
) -> set[Fault]:
    faults: set[Fault] = set()
    name = f"control:{control.group}" if control.group else "control"
    if max(distances(control.levels, cylinder, made)) < made.least_step:
        faults.add((FaultKind.CONTROL_OPERATES, name, door.name))
    if made.core is None:
        return faults
    up = max(distances(control.levels, cylinder, made, control=True))
    if control.group == door.core_group and up > 0:
        faults.add((FaultKind.CONTROL_BLOCKED, name, door.name))
    if control.group != door.core_group and up < made.least_step:
        faults.add((FaultKind.REACHES_CONTROL, name, door.name))
    return faults


def tightest(
    chart: AccessChart,
    made: HardwareFormat,
    bittings: tuple[Bitting, ...],
    pinning: tuple[PinnedCylinder, ...],
) -> tuple[int, int] | None:
    """(chambers, steps) of the weakest refusal."""
    found = []
    for d, door in enumerate(chart.doors):
        for k, key in enumerate(chart.keys):
            marked = k in chart.openers[d] and key.standing is KeyStanding.ACTIVE
            away = distances(bittings[k], pinning[d], made)
            far = [steps for steps in away if steps >= made.least_step]
            if not marked and far and chart.enters(key, door):
                found.append((len(far), max(far)))
    return min(found, default=None)


def as_set(report: ProofReport) -> set[Fault]:
    """A report's faults without their details; bad stacks included under an empty key."""
    return {(fault.kind, fault.key, fault.door) for fault in report.faults}
