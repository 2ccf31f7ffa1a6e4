"""The pins of one cylinder as a bench lays them out, for screens and paper."""

from pinloom.core.bench import Part
from pinloom.core.hardware import HardwareFormat
from pinloom.core.stacks import PinnedCylinder
from pinloom.pinning import describe


def describe_cylinder(
    made: HardwareFormat, cylinder: PinnedCylinder
) -> tuple[tuple[Part, ...], ...]:
    """Per chamber its parts, bottom-up; nothing for a chamber without pins or with a bottom pin
    that the format does not have.
    """
    return tuple(
        ()
        if stack is None or not 0 <= stack.bottom < made.levels
        else describe(stack, made, chamber)
        for chamber, stack in enumerate(cylinder.chambers)
    )
