"""Where every pin of a cylinder stands with a key in it, as plain heights above the shear line.

Theory. A stack stands on the root of the cut that meets its chamber; the shear line lies where the
format's own bottom pin on its own cut puts it. A chamber is *free* when the top of a bottom pin,
master pin or build-up pin lies on the line. It is *held* when the nearest of these tops is the
format's least step away or more, and *near* in between: wear and clearance may let it pass.

This says again, for drawing, what ``pinloom.proof`` says in its own words; a test compares the two
chamber by chamber. Published tables are rounded, so a tenth of a step is taken as nothing in both.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from enum import Enum

from pinloom.core.bench import PartKind
from pinloom.core.bitting import Level
from pinloom.core.fitting import chamber_positions
from pinloom.core.hardware import BalancedDrivers, HardwareFormat
from pinloom.core.lengths import Nanometres, from_mm
from pinloom.core.stacks import PinnedCylinder, PinStack

ROUNDING = 10  # must stay in sync with pinloom.proof.lift.ROUNDING
SHORTEST_PIN = from_mm("4")  # drawing only, where a format gives no lengths
DRIVER = from_mm("4.5")  # drawing only, where a format gives no length


class State(Enum):
    """What one chamber does to the key."""

    FREE = "free"
    NEAR = "near"
    HELD = "held"
    UNPINNED = "unpinned"
    UNKNOWN = "unknown"  # no cut meets the chamber, or a pin has no length
    AT_REST = "at rest"  # no key


class Verdict(Enum):
    """What the cylinder does to the key."""

    TURNS = "turns"
    MAY_TURN = "may turn"  # nearer than the least step everywhere: counts as opening
    HELD = "held"
    UNKNOWN = "unknown"
    NO_KEY = "no key"


@dataclass(frozen=True, slots=True, kw_only=True)
class StandingPin:
    """One pin; ``foot`` and ``top`` are heights above the shear line, ``known`` says whether its
    length is the format's.
    """

    kind: PartKind
    size: str
    foot: Nanometres
    top: Nanometres
    known: bool = True


@dataclass(frozen=True, slots=True, kw_only=True)
class Chamber:
    """One chamber. ``offset`` = from the line to the nearest joint; ``steps`` = whole steps of it.

    ``level`` = level of the cut that meets it, None without a key or where none does.
    """

    number: int
    pins: tuple[StandingPin, ...]
    state: State
    level: Level | None = None
    offset: Nanometres = 0
    steps: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class Standing:
    """A cylinder with a key in it, or none. ``line`` = the shear line asked about, and
    ``control_line`` the core's second one, both above the operating line; ``root_zero`` = height
    of the bottom of the blade below it; ``scaled`` = whether the heights are the format's own.
    """

    chambers: tuple[Chamber, ...]
    verdict: Verdict
    line: Nanometres
    control_line: Nanometres | None
    root_zero: Nanometres
    scaled: bool

    def holding(self) -> tuple[Chamber, ...]:
        """The chambers that keep the key out."""
        return tuple(chamber for chamber in self.chambers if chamber.state is State.HELD)


def stand(
    made: HardwareFormat,
    cylinder: PinnedCylinder,
    levels: Sequence[Level] | None,
    *,
    key_format: HardwareFormat | None = None,
    at_control: bool = False,
) -> Standing:
    """The cylinder with the key of these levels. ``at_control`` asks about a core's second line."""
    scaled = all(depth.bottom_pin is not None for depth in made.depths)
    shear = made.shear_height() if scaled else None
    if shear is None:
        shear = made.depths[0].root + SHORTEST_PIN
    control = made.core.offset * made.step if made.core else None
    line = control if at_control and control is not None else 0
    meets = chamber_positions(key_format or made, made)
    chambers = []
    for place, stack in enumerate(cylinder.chambers):
        level = levels[meets[place]] if levels is not None and meets is not None else None
        chambers.append(
            _chamber(made, place, stack, level, shear, line, no_key=levels is None, scaled=scaled)
        )
    return Standing(
        chambers=tuple(chambers),
        verdict=_verdict([chamber.state for chamber in chambers]),
        line=line,
        control_line=control,
        root_zero=-shear,
        scaled=scaled,
    )


def _chamber(
    made: HardwareFormat,
    place: int,
    stack: PinStack | None,
    level: Level | None,
    shear: Nanometres,
    line: Nanometres,
    *,
    no_key: bool,
    scaled: bool,
) -> Chamber:
    if stack is None:
        return Chamber(number=place + 1, pins=(), state=State.UNPINNED, level=level)
    # Without a key, or under no cut, a stack hangs a step below its lowest place (drawing only).
    lowest = made.depths[-1].root - made.step
    root = lowest if level is None else made.depths[level].root
    if not scaled and level is not None:
        root = made.depths[0].root - level * made.step
    pins = _pins(made, place, stack, root - shear, scaled=scaled)
    if level is None:
        state = State.AT_REST if no_key else State.UNKNOWN
        return Chamber(number=place + 1, pins=pins, state=state)
    tops = [pin.top for pin in pins if pin.kind not in _DRIVERS]
    offset = min(abs(top - line) for top in tops)
    steps = (offset + made.step // ROUNDING) // made.step
    state = State.NEAR if steps < made.least_step else State.HELD
    if offset <= made.step // ROUNDING:
        state = State.FREE
    return Chamber(
        number=place + 1, pins=pins, state=state, level=level, offset=offset, steps=steps
    )


_DRIVERS = (PartKind.DRIVER, PartKind.SECURITY_DRIVER)


def _pins(
    made: HardwareFormat, place: int, stack: PinStack, foot: Nanometres, *, scaled: bool
) -> tuple[StandingPin, ...]:
    length = made.depths[stack.bottom].bottom_pin
    if length is None or not scaled:
        length = SHORTEST_PIN + stack.bottom * made.step
    sizes = [(PartKind.BOTTOM, str(made.number_of(stack.bottom)), length, scaled)]
    sizes += [(PartKind.MASTER, str(size), size * made.step, True) for size in stack.masters]
    if stack.buildup is not None:
        sizes.append((PartKind.BUILDUP, str(stack.buildup), stack.buildup * made.step, True))
    driver = _driver_length(made, place, stack.driver)
    special = any(one.label == stack.driver for one in made.security_drivers)
    kind = PartKind.SECURITY_DRIVER if special else PartKind.DRIVER
    sizes.append((kind, stack.driver, driver or DRIVER, driver is not None))
    pins = []
    for kind, size, tall, known in sizes:
        pins.append(StandingPin(kind=kind, size=size, foot=foot, top=foot + tall, known=known))
        foot += tall
    return tuple(pins)


def _driver_length(made: HardwareFormat, place: int, label: str) -> Nanometres | None:
    label = next((one.replaces for one in made.security_drivers if one.label == label), label)
    if isinstance(made.drivers, BalancedDrivers):
        zero = made.drivers.zero_length
        known = zero is not None and label.isdecimal()
        return zero + int(label) * made.step if zero is not None and known else None
    if made.core is not None and place in made.core.control_chambers:
        return None
    return next((band.length for band in made.drivers.bands if band.label == label), None)


def _verdict(states: Sequence[State]) -> Verdict:
    if State.AT_REST in states:
        return Verdict.NO_KEY
    if State.HELD in states:
        return Verdict.HELD
    if State.UNKNOWN in states:
        return Verdict.UNKNOWN
    return Verdict.MAY_TURN if State.NEAR in states else Verdict.TURNS


def by_level(made: HardwareFormat, place: int, stack: PinStack | None) -> tuple[Chamber, ...]:
    """What one chamber (counted from 0) does to each level of a key at the operating line."""
    scaled = all(depth.bottom_pin is not None for depth in made.depths)
    shear = made.shear_height() if scaled else None
    if shear is None:
        shear = made.depths[0].root + SHORTEST_PIN
    return tuple(
        _chamber(made, place, stack, level, shear, 0, no_key=False, scaled=scaled)
        for level in range(made.levels)
    )
