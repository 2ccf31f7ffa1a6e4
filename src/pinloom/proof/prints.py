"""The fingerprint of exactly what was proved: chart, formats, cuts and pins.

Only what the proof or the paper made from it depends on goes in; a key's note or the number of its
copies may change without a new proof.
"""

from collections.abc import Iterator, Sequence

from pinloom.core.bitting import Bitting
from pinloom.core.chart import AccessChart
from pinloom.core.fingerprints import fingerprint
from pinloom.core.hardware import HardwareFormat
from pinloom.core.job import ControlKey
from pinloom.core.stacks import PinnedCylinder, PinStack


def fingerprint_of(
    chart: AccessChart,
    key_format: HardwareFormat,
    cylinder_formats: Sequence[HardwareFormat],
    bittings: Sequence[Bitting],
    controls: Sequence[ControlKey],
    pinning: Sequence[PinnedCylinder],
) -> str:
    """SHA-256 over everything that a verdict depends on, hexadecimal."""
    numbers: dict[int, int] = {}
    formats: list[HardwareFormat] = []
    for one in (key_format, *cylinder_formats):
        if id(one) not in numbers:
            if one not in formats:
                formats.append(one)
            numbers[id(one)] = formats.index(one)
    parts: list[str] = ["pinloom proof 1"]
    parts += [text for one in formats for text in _of_format(one)]
    parts += _of_chart(chart)
    parts += ["formats", " ".join(str(numbers[id(one)]) for one in cylinder_formats)]
    parts += ["cuts", *(" ".join(map(str, bitting)) for bitting in bittings)]
    for control in controls:
        parts += ["control", control.group, " ".join(map(str, control.levels))]
    parts += [text for cylinder in pinning for text in _of_cylinder(cylinder)]
    return fingerprint(parts)


def _of_format(one: HardwareFormat) -> Iterator[str]:
    yield "format"
    yield one.name
    fixed = (one.chambers, one.step, one.first_cut, one.spacing, one.macs, one.least_step)
    yield " ".join(map(str, fixed))
    yield f"{one.reading.name} {one.stop.name}"
    for depth in one.depths:
        yield f"{depth.number} {depth.root} {depth.bottom_pin} {depth.stamped}"
    yield f"{' '.join(map(str, one.master_pins))} at most {one.max_masters}"
    yield repr(one.drivers)
    yield repr(one.security_drivers)
    yield repr(one.core)


def _of_chart(chart: AccessChart) -> Iterator[str]:
    for key in chart.keys:
        yield from ("key", key.name, key.standing.name, key.blank)
    for blank in chart.blanks:
        yield from ("blank", blank.name, *blank.enters)
    for door, openers in zip(chart.doors, chart.openers, strict=True):
        yield from ("door", door.name, door.hardware, door.keyway, door.core_group)
        yield " ".join(map(str, door.unpinned))
        yield " ".join(map(str, openers))


def _of_cylinder(cylinder: PinnedCylinder) -> Iterator[str]:
    yield "pins"
    yield cylinder.door
    yield str(len(cylinder.chambers))
    for stack in cylinder.chambers:
        yield "-" if stack is None else _of_stack(stack)


def _of_stack(stack: PinStack) -> str:
    masters = " ".join(map(str, stack.masters))
    return f"{stack.bottom}|{masters}|{stack.buildup}|{stack.driver}"
