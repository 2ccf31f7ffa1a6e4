"""Whether a stack has room in its chamber, and whether it is tall enough to block.

Rules. With a key in place the stack's top stands ``root + stack - shear height`` above the shear
line. It must fit below the solid spring while the highest peak of any authorised key passes, and
with the deepest cut in place its driver must still cross the shear line, or nothing blocks.

The peak between two neighbouring cuts is where their flanks meet, or the top of the blade if that
is lower: height = ((spacing - flat) / tan(angle / 2) + root + root) / 2. Depth of the chamber and
solid height of the spring were found for no shipped format: without them the room is not checked,
and that is said. The short-stack rule needs pin lengths only.
"""

import math
from collections.abc import Iterable, Iterator, Sequence
from itertools import pairwise

from pinloom.core.bitting import Bitting
from pinloom.core.chart import AccessChart, KeyStanding
from pinloom.core.findings import Finding, fault, note
from pinloom.core.hardware import HardwareFormat
from pinloom.core.lengths import Nanometres, in_inch
from pinloom.core.stacks import PerStack, PinnedCylinder, PinStack
from pinloom.pinning.parts import describe

Lengths = PerStack[Nanometres | None]


def check_fit(
    chart: AccessChart,
    key_format: HardwareFormat,
    cylinder_formats: Sequence[HardwareFormat],
    bittings: Sequence[Bitting],
    cylinders: Sequence[PinnedCylinder],
) -> tuple[Finding, ...]:
    """Overfilled and short stacks, door by door; a note for every format whose fit is not known."""
    unchecked: dict[str, None] = {}
    findings: list[Finding] = []
    checked = {id(made): can_check(key_format, made) for made in _distinct(cylinder_formats)}
    lengths: Lengths = PerStack(stack_length)
    for door, (made, cylinder) in enumerate(zip(cylinder_formats, cylinders, strict=True)):
        findings.extend(_short(made, cylinder, lengths))
        if not checked[id(made)]:
            unchecked[made.name] = None
            continue
        keys = [
            bittings[k] for k in chart.openers[door] if chart.keys[k].standing is KeyStanding.ACTIVE
        ]
        findings.extend(_overfilled(made, cylinder, highest_peak(key_format, keys), lengths))
    findings.extend(note("pinning-fit-not-checked", format=name) for name in unchecked)
    return tuple(findings)


def _distinct(formats: Sequence[HardwareFormat]) -> Iterable[HardwareFormat]:
    return {id(made): made for made in formats}.values()


def can_check(key_format: HardwareFormat, made: HardwareFormat) -> bool:
    """Whether the formats have every dimension that the room of a stack depends on."""
    sizes = made.dimensions
    return (
        made.shear_height() is not None
        and sizes.chamber_depth is not None
        and sizes.spring_solid is not None
        and key_format.dimensions.blade_height is not None
    )


def stack_length(made: HardwareFormat, chamber: int, stack: PinStack) -> Nanometres | None:
    """Length of all pins of a stack, driver included; None where one of them has none."""
    lengths = [part.length for part in describe(stack, made, chamber)[:-1]]
    known = [length for length in lengths if length is not None]
    return sum(known) if stack.driver and len(known) == len(lengths) else None


def highest_peak(key_format: HardwareFormat, keys: Iterable[Bitting]) -> Nanometres:
    """The highest point of any of the keys that passes under a pin; rounded up. Raises ValueError
    when the format has no height of the blade.
    """
    blade = key_format.dimensions.blade_height
    if blade is None:
        raise ValueError(f"{key_format.name} has no height of the blade")
    pairs = {pair for key in keys for pair in pairwise(key)}
    return max((_peak(key_format, pair, blade) for pair in pairs), default=blade)


def _peak(made: HardwareFormat, pair: tuple[int, int], blade: Nanometres) -> Nanometres:
    angle, flat = made.dimensions.cut_angle, made.dimensions.cut_flat
    if angle is None or flat is None:
        return blade
    between = (made.spacing - flat) / math.tan(math.radians(angle) / 2)
    roots = made.depths[pair[0]].root + made.depths[pair[1]].root
    return min(blade, math.ceil((between + roots) / 2))


def _overfilled(
    made: HardwareFormat, cylinder: PinnedCylinder, peak: Nanometres, lengths: Lengths
) -> Iterator[Finding]:
    shear, depth = made.shear_height(), made.dimensions.chamber_depth
    spring = made.dimensions.spring_solid
    for chamber, stack in enumerate(cylinder.chambers):
        length = None if stack is None else lengths.of(made, chamber, stack)
        if length is None or shear is None or depth is None or spring is None:
            continue
        over = peak + length - shear + spring - depth
        if over > 0:
            yield fault(
                "pinning-overfilled",
                door=cylinder.door,
                chamber=chamber + 1,
                over=in_inch(over),
            )


def _short(made: HardwareFormat, cylinder: PinnedCylinder, lengths: Lengths) -> Iterator[Finding]:
    """With the deepest cut in place the stack must still reach the least step into the shell."""
    deepest = made.depths[-1].bottom_pin
    if deepest is None:
        return
    wanted = deepest + made.least_step * made.step
    for chamber, stack in enumerate(cylinder.chambers):
        length = None if stack is None else lengths.of(made, chamber, stack)
        if length is not None and length < wanted:
            yield fault(
                "pinning-short-stack",
                door=cylinder.door,
                chamber=chamber + 1,
                length=in_inch(length),
                wanted=in_inch(wanted),
            )
