"""Which driver goes on a stack, and how long it is.

Rules. A banded format picks a driver by the stack total, the depth number of the deepest cut that
operates the chamber; one band over all totals is one size. A balanced format, and every control
chamber of a core, fills up to a constant: driver = total - pin numbers below it.

A security driver stands in for the plain driver it names, only in the chambers the format lists,
and never over a thin master pin, which its waist could let slip (ours).
"""

from pinloom.core.hardware import BalancedDrivers, BandedDrivers, HardwareFormat, SecurityDriver
from pinloom.core.lengths import Nanometres, from_inch
from pinloom.core.stacks import PinStack

# Ours: below this a master pin may tilt (the same bound at which a format's pins are warned of).
THIN_MASTER: Nanometres = from_inch("0.023")


def is_control_chamber(made: HardwareFormat, chamber: int) -> bool:
    """Whether a core's control line crosses this chamber (counted from 0)."""
    return made.core is not None and chamber in made.core.control_chambers


def plug_total(made: HardwareFormat, stack: PinStack) -> int | None:
    """Depth number of the deepest cut that operates a stack; None when it is below the deepest."""
    deepest = stack.bottom + sum(stack.masters)
    return made.number_of(deepest) if 0 <= deepest < made.levels else None


def plain_driver(made: HardwareFormat, chamber: int, stack: PinStack) -> str | None:
    """Label of the ordinary driver for the pins below it; None when no such driver is made."""
    total = plug_total(made, stack)
    if total is None:
        return None
    if is_control_chamber(made, chamber) and made.core is not None:
        if stack.buildup is None:
            return None
        return _number(made.core.stack_total - total - stack.buildup)
    if isinstance(made.drivers, BalancedDrivers):
        return _number(made.drivers.total - total)
    for band in made.drivers.bands:
        if band.low <= total <= band.high:
            return band.label
    return None


def security_driver(made: HardwareFormat, chamber: int, stack: PinStack, plain: str) -> str | None:
    """Label of the security driver that may replace the plain one here; None when none may."""
    if stack.masters and stack.masters[-1] * made.step < THIN_MASTER:
        return None
    for special in made.security_drivers:
        if special.replaces == plain and chamber in special.chambers:
            return special.label
    return None


def as_security(made: HardwareFormat, label: str) -> SecurityDriver | None:
    """The security driver of that label, or None for a plain driver."""
    plain = {band.label for band in getattr(made.drivers, "bands", ())}
    if label in plain:
        return None
    return next((special for special in made.security_drivers if special.label == label), None)


def driver_labels(made: HardwareFormat) -> tuple[tuple[str, int], ...]:
    """Labels of all plain drivers of a format, each with a chamber (from 0) where it may stand."""
    labels: dict[str, int] = {}
    numbers = [depth.number for depth in made.depths]
    crossed = made.core.control_chambers if made.core else ()
    plain = next((c for c in range(made.chambers) if c not in crossed), None)
    if plain is not None and isinstance(made.drivers, BalancedDrivers):
        labels |= {str(made.drivers.total - number): plain for number in reversed(numbers)}
    elif plain is not None and isinstance(made.drivers, BandedDrivers):
        labels |= {band.label: plain for band in made.drivers.bands}
    if made.core is not None:
        top = made.core.stack_total - made.core.offset
        for number in reversed(numbers):
            labels.setdefault(str(top - number), crossed[0])
    return tuple(labels.items())


def driver_length(made: HardwareFormat, chamber: int, label: str) -> Nanometres | None:
    """Length of a driver by its label; None where the format gives none or has no such driver."""
    special = as_security(made, label)
    if special is not None:
        return driver_length(made, chamber, special.replaces)
    if isinstance(made.drivers, BalancedDrivers):
        zero = made.drivers.zero_length
        return None if zero is None or not label.isdecimal() else zero + int(label) * made.step
    if is_control_chamber(made, chamber):
        return None
    return next((band.length for band in made.drivers.bands if band.label == label), None)


def _number(number: int) -> str | None:
    return str(number) if number >= 1 else None
