"""One chamber: from the cuts that must operate it to the pins in it.

Rules (*Degree Key System Technical Manual*, 90726:E, 2014, p. 4, as arithmetic on pin numbers).
The bottom pin fits the shallowest operating cut; each master pin is the difference to the next
deeper one. In a control chamber of a core the build-up pin carries the stack to the control cut:
build-up = control + offset - plug total (*5402 Series Technical Manual*, p. 3-17). The driver fills
the rest.

Every operating cut has a shear line and no other: one more would only let more keys in.
"""

from collections.abc import Iterable
from dataclasses import replace
from itertools import pairwise

from pinloom.core.bitting import Level
from pinloom.core.hardware import HardwareFormat
from pinloom.core.stacks import PinStack
from pinloom.pinning.drivers import is_control_chamber, plain_driver, security_driver


def stack_for(
    made: HardwareFormat,
    chamber: int,
    cuts: Iterable[Level],
    control: Level | None = None,
    *,
    secure: bool = False,
) -> PinStack:
    """The pins of one chamber (counted from 0). ``cuts`` = levels that must operate it, at least
    one. ``control`` = level of the control cut, ignored outside the control chambers. Sizes that
    are not made and missing drivers (label "") are for ``faults`` to find.
    """
    levels = sorted(set(cuts))
    stack = PinStack(
        bottom=levels[0],
        masters=tuple(deeper - shallower for shallower, deeper in pairwise(levels)),
        buildup=_buildup(made, chamber, levels[-1], control),
    )
    return with_driver(made, chamber, stack, secure=secure)


def with_driver(
    made: HardwareFormat, chamber: int, stack: PinStack, *, secure: bool = False
) -> PinStack:
    """The stack with the driver its other pins ask for, "" where none is made."""
    plain = plain_driver(made, chamber, stack)
    if plain is None:
        return replace(stack, driver="")
    special = security_driver(made, chamber, stack, plain) if secure else None
    return replace(stack, driver=special or plain)


def _buildup(
    made: HardwareFormat, chamber: int, deepest: Level, control: Level | None
) -> int | None:
    if made.core is None or control is None or not is_control_chamber(made, chamber):
        return None
    # Levels and depth numbers differ by a constant in a core, so their differences agree.
    return control + made.core.offset - deepest
