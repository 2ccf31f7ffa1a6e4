"""Stacks that cannot be built from the pins a format has.

Checked before anything is lifted: a stack of pins nobody makes proves nothing, however well its
numbers open.
"""

from collections.abc import Iterator
from enum import Enum

from pinloom.core.hardware import BandedDrivers, HardwareFormat
from pinloom.core.stacks import PinnedCylinder, PinStack


class BadStack(Enum):
    """What is wrong with a stack, as the detail of a fault says it."""

    OTHER_DOOR = "pins are of another door"
    CHAMBER_COUNT = "wrong number of chambers"
    NO_BOTTOM = "no such bottom pin"
    NO_LENGTH = "no length for the bottom pin"
    NO_MASTER = "master pin not made"
    TOO_MANY = "too many master pins"
    TOO_TALL = "deeper than the deepest cut"
    BUILDUP_MISSING = "no build-up pin in a control chamber"
    BUILDUP_STRAY = "build-up pin where there is no control line"
    NO_BUILDUP = "build-up pin not made"
    NO_DRIVER = "no such driver"


class Inspector:
    """Inspects cylinders of one format; equal stacks in equal chambers are looked at once."""

    __slots__ = ("_known", "_made")

    def __init__(self, made: HardwareFormat) -> None:
        self._made = made
        self._known: dict[tuple[int, PinStack], tuple[str, ...]] = {}

    def reasons(self, door: str, cylinder: PinnedCylinder) -> tuple[str, ...]:
        """Everything wrong with the pins of one cylinder, in chamber order, counted from 1."""
        found = []
        if cylinder.door != door:
            found.append(f"{BadStack.OTHER_DOOR.value}: {cylinder.door}")
        if len(cylinder.chambers) != self._made.chambers:
            counts = f"{len(cylinder.chambers)}, not {self._made.chambers}"
            found.append(f"{BadStack.CHAMBER_COUNT.value}: {counts}")
            return tuple(found)
        for chamber, stack in enumerate(cylinder.chambers):
            if stack is not None:
                found += self._of(chamber, stack)
        return tuple(found)

    def _of(self, chamber: int, stack: PinStack) -> tuple[str, ...]:
        known = self._known.get((chamber, stack))
        if known is None:
            texts = _of_stack(stack, chamber, self._made)
            known = tuple(f"chamber {chamber + 1}: {text}" for text in texts)
            self._known[chamber, stack] = known
        return known


def _of_stack(stack: PinStack, chamber: int, made: HardwareFormat) -> Iterator[str]:
    if not 0 <= stack.bottom < made.levels:
        yield f"{BadStack.NO_BOTTOM.value} (level {stack.bottom})"
        return
    with_lengths = any(depth.bottom_pin is not None for depth in made.depths)
    if with_lengths and made.depths[stack.bottom].bottom_pin is None:
        yield f"{BadStack.NO_LENGTH.value} {made.number_of(stack.bottom)}"
    for master in stack.masters:
        if master not in made.master_pins:
            yield f"{BadStack.NO_MASTER.value}: {master}"
    if len(stack.masters) > made.max_masters:
        yield f"{BadStack.TOO_MANY.value}: {len(stack.masters)}, at most {made.max_masters}"
    if stack.bottom + sum(stack.masters) >= made.levels:
        yield BadStack.TOO_TALL.value
    yield from _buildup(stack, chamber, made)
    yield from _driver(stack, chamber, made)


def _buildup(stack: PinStack, chamber: int, made: HardwareFormat) -> Iterator[str]:
    controlled = made.core is not None and chamber in made.core.control_chambers
    if stack.buildup is None:
        if controlled:
            yield BadStack.BUILDUP_MISSING.value
    elif not controlled or made.core is None:
        yield f"{BadStack.BUILDUP_STRAY.value}: {stack.buildup}"
    elif stack.buildup not in made.core.buildup_sizes:
        yield f"{BadStack.NO_BUILDUP.value}: {stack.buildup}"


def _driver(stack: PinStack, chamber: int, made: HardwareFormat) -> Iterator[str]:
    """Drivers in sizes by name must be on the list; drivers by number are any number."""
    if not stack.driver or not isinstance(made.drivers, BandedDrivers):
        return
    if made.core is not None and chamber in made.core.control_chambers:
        return
    labels = {band.label for band in made.drivers.bands}
    labels |= {d.label for d in made.security_drivers if chamber in d.chambers}
    if stack.driver not in labels:
        yield f"{BadStack.NO_DRIVER.value}: {stack.driver}"
