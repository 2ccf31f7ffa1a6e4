"""From pins on the bench back to the cuts they were set for.

Rules. Pins of one chamber are laid out bottom-up: the bottom pin, master pins, in a control chamber
the build-up pin, then the driver. Wear and gauge leave a pin a little off its nominal length, so a
length is read as the nearest size that is made, if it is within a third of a step (ours); a pin
between two sizes is said, not guessed.

The cuts that operate the chamber are the running sums; the control cut is the sum with the build-up
less the offset of the control line.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

from pinloom.core.bench import PartKind
from pinloom.core.bitting import Level
from pinloom.core.findings import Finding, fault
from pinloom.core.hardware import BandedDrivers, HardwareFormat
from pinloom.core.lengths import Nanometres, in_inch
from pinloom.core.stacks import PinStack
from pinloom.pinning.drivers import driver_length, is_control_chamber, plain_driver

ROUNDED_WITHIN = 3  # a pin is its nearest size when it is off by at most step / ROUNDED_WITHIN


@dataclass(frozen=True, slots=True, kw_only=True)
class Decoded:
    """What a stack opens for: operating ``cuts``, shallow first, and the ``control`` cut of a core,
    None elsewhere. ``impossible`` = the control cut is none that the format has.
    """

    cuts: tuple[Level, ...]
    control: Level | None
    impossible: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Measured:
    """A stack read from measured pins, or None with a fault for each pin that cannot be read.
    ``off`` = the largest difference between a length measured and its size.
    """

    stack: PinStack | None
    off: Nanometres
    findings: tuple[Finding, ...]


def decode(made: HardwareFormat, chamber: int, stack: PinStack) -> Decoded:
    """The cuts of a stack in a chamber counted from 0."""
    cuts = stack.cuts()
    control = None
    if stack.buildup is not None and made.core is not None and is_control_chamber(made, chamber):
        control = cuts[-1] + stack.buildup - made.core.offset
    impossible = control is not None and not 0 <= control < made.levels
    return Decoded(cuts=cuts, control=control, impossible=impossible)


def read_pins(made: HardwareFormat, chamber: int, lengths: Sequence[Nanometres]) -> Measured:
    """A stack from lengths measured bottom-up, the driver last. Raises ValueError when the format
    gives no lengths of bottom pins, or fewer than two pins are given.
    """
    if any(depth.bottom_pin is None for depth in made.depths) or len(lengths) < 2:
        raise ValueError("needs a format with pin lengths, and a bottom pin and a driver")
    bottoms = {depth.bottom_pin: level for level, depth in enumerate(made.depths)}
    bottom = _nearest(made, lengths[0], [b for b in bottoms if b is not None])
    middle = [_nearest(made, length, _steps(made)) for length in lengths[1:-1]]
    findings = [
        fault(
            "pinning-pin-unread",
            chamber=chamber + 1,
            pin=place + 1,
            part=_part(made, chamber, place, len(lengths)).value,
            length=in_inch(lengths[place]),
        )
        for place, size in enumerate([bottom, *middle])
        if size is None
    ]
    if bottom is None or findings:
        return Measured(stack=None, off=0, findings=tuple(findings))
    sizes = [length for length in middle if length is not None]
    off = max(abs(a - b) for a, b in zip(lengths[:-1], [bottom, *sizes], strict=True))
    steps = [size // made.step for size in sizes]
    buildup = steps.pop() if steps and is_control_chamber(made, chamber) else None
    stack = PinStack(bottom=bottoms[bottom], masters=tuple(steps), buildup=buildup)
    driver = _driver(made, chamber, stack, lengths[-1])
    return Measured(stack=replace(stack, driver=driver), off=off, findings=())


def _steps(made: HardwareFormat) -> list[Nanometres]:
    """Lengths of any pin in whole steps, also of sizes that the format does not list as made."""
    most = made.levels + (made.core.stack_total if made.core else 0)
    return [steps * made.step for steps in range(1, most + 1)]


def _nearest(
    made: HardwareFormat, length: Nanometres, sizes: Sequence[Nanometres]
) -> Nanometres | None:
    nearest = min(sizes, key=lambda size: abs(size - length))
    return nearest if abs(nearest - length) * ROUNDED_WITHIN <= made.step else None


def _part(made: HardwareFormat, chamber: int, place: int, count: int) -> PartKind:
    if place == 0:
        return PartKind.BOTTOM
    if place == count - 2 and is_control_chamber(made, chamber):
        return PartKind.BUILDUP
    return PartKind.MASTER


def _driver(made: HardwareFormat, chamber: int, stack: PinStack, length: Nanometres) -> str:
    """Label of the driver of that length; the format's own choice where lengths do not tell."""
    if isinstance(made.drivers, BandedDrivers) and not is_control_chamber(made, chamber):
        known = {band.label: band.length for band in made.drivers.bands if band.length is not None}
        near = [n for n, size in known.items() if abs(size - length) * ROUNDED_WITHIN <= made.step]
        if near:
            return near[0]
        return "" if known else (plain_driver(made, chamber, stack) or "")
    zero = driver_length(made, chamber, "0")
    if zero is None:
        return plain_driver(made, chamber, stack) or ""
    return str(max(0, round((length - zero) / made.step)))
