"""Pins by size and length, one stack at a time, and counted for a whole job."""

from collections import Counter
from collections.abc import Iterable, Sequence

from pinloom.core.bench import Part, PartCount, PartKind
from pinloom.core.chart import AccessChart
from pinloom.core.hardware import HardwareFormat
from pinloom.core.names import natural
from pinloom.core.stacks import PinnedCylinder, PinStack
from pinloom.pinning.drivers import as_security, driver_length

_ORDER = {kind: place for place, kind in enumerate(PartKind)}


def describe(stack: PinStack, made: HardwareFormat, chamber: int) -> tuple[Part, ...]:
    """The parts of one chamber (counted from 0), bottom-up with the spring last. Lengths only where
    the format gives them. Raises IndexError for a bottom pin that the format does not have.
    """
    depth = made.depths[stack.bottom]
    parts = [Part(kind=PartKind.BOTTOM, size=str(depth.number), length=depth.bottom_pin)]
    parts += [stepped(PartKind.MASTER, size, made) for size in stack.masters]
    if stack.buildup is not None:
        parts.append(stepped(PartKind.BUILDUP, stack.buildup, made))
    if stack.driver:
        special = as_security(made, stack.driver)
        kind = PartKind.SECURITY_DRIVER if special else PartKind.DRIVER
        length = driver_length(made, chamber, stack.driver)
        parts.append(Part(kind=kind, size=stack.driver, length=length))
    parts.append(Part(kind=PartKind.SPRING))
    return tuple(parts)


def parts(
    chart: AccessChart,
    cylinder_formats: Sequence[HardwareFormat],
    cylinders: Sequence[PinnedCylinder],
    pieces: Sequence[int] | None = None,
) -> tuple[PartCount, ...]:
    """What the whole job takes, in bench order; a door with a count of n takes n of everything.
    ``pieces`` = by door how many cylinders to count instead.
    """
    each = [door.count for door in chart.doors] if pieces is None else pieces
    # A large job repeats few stacks in many doors, so stacks are counted first.
    formats = {made.name: made for made in cylinder_formats}
    stacks: Counter[tuple[str, int, PinStack]] = Counter()
    for count, made, cylinder in zip(each, cylinder_formats, cylinders, strict=True):
        for chamber, stack in enumerate(cylinder.chambers):
            if stack is not None and count:
                stacks[made.name, chamber, stack] += count
    totals: Counter[Part] = Counter()
    for (name, chamber, stack), count in stacks.items():
        for part in describe(stack, formats[name], chamber):
            totals[part] += count
    return in_bench_order(totals.items())


def count_cylinder(made: HardwareFormat, cylinder: PinnedCylinder) -> Counter[Part]:
    """What one cylinder takes."""
    return Counter(
        part
        for chamber, stack in enumerate(cylinder.chambers)
        if stack is not None
        for part in describe(stack, made, chamber)
    )


def in_bench_order(counts: Iterable[tuple[Part, int]]) -> tuple[PartCount, ...]:
    """Counts by kind, then by size."""
    ordered = sorted(counts, key=lambda item: part_order(item[0]))
    return tuple(PartCount(part=part, count=count) for part, count in ordered)


def part_order(part: Part) -> tuple[object, ...]:
    """Sort key of a part: the order in which a chamber is filled, then sizes by value."""
    return (_ORDER[part.kind], natural(part.size), part.length or 0)


def stepped(kind: PartKind, size: int, made: HardwareFormat) -> Part:
    """A master or build-up pin of so many steps."""
    return Part(kind=kind, size=str(size), length=size * made.step)
