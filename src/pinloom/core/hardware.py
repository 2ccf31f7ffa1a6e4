"""A hardware format: what a family of cylinders and keys can do, in numbers with their provenance.

Names of formats are geometry only. Lengths in whole nanometres; depths are listed shallow to deep,
so the index of a depth is its level. A format is data: the rules that use it live in the stages.
"""

import re
from dataclasses import dataclass
from enum import Enum

from pinloom.core.bitting import Bitting, Level, PartialBitting
from pinloom.core.lengths import Nanometres


class Provenance(Enum):
    """Where a number comes from."""

    PUBLISHED = "published"
    DERIVED = "derived"
    MEMORY = "memory"  # unconfirmed: a caution is shown until the user confirms it
    MEASURED = "measured"  # by the user, on the hardware in hand


class Reading(Enum):
    """The order in which cuts are read and chambers are numbered."""

    BOW_TO_TIP = "bow to tip"
    TIP_TO_BOW = "tip to bow"


class Stop(Enum):
    """What the key is located by when it is cut and when it is in the cylinder."""

    SHOULDER = "shoulder"
    TIP = "tip"


class CoreKind(Enum):
    """How an interchangeable core's control key acts."""

    SMALL = "small format"  # in every chamber
    LARGE = "large format"  # in the control chambers; it operates the others


@dataclass(frozen=True, slots=True, kw_only=True)
class Depth:
    """One depth: number in files, stamped text, root, and the bottom pin that fits it."""

    number: int
    stamped: str
    root: Nanometres
    bottom_pin: Nanometres | None = None  # None: the format gives pins by number only


@dataclass(frozen=True, slots=True, kw_only=True)
class DriverBand:
    """One driver for stacks whose total (the depth number of the deepest cut) is low..high."""

    label: str
    low: int
    high: int
    length: Nanometres | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class BandedDrivers:
    """One or several driver sizes chosen by stack total. One band over all totals = one size."""

    bands: tuple[DriverBand, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class BalancedDrivers:
    """Driver number = total - plug total (the number of the deepest cut)."""

    total: int
    zero_length: Nanometres | None = None  # length of driver number 0; one step more each number


@dataclass(frozen=True, slots=True, kw_only=True)
class CoreArithmetic:
    """The second shear line of an interchangeable core, in pin numbers and steps.

    build-up = control + offset - plug total; top = stack_total - plug total - build-up.
    ``control_chambers`` counts from 0 in reading order; elsewhere the large kind has no build-up
    and takes the format's ordinary drivers.
    """

    kind: CoreKind
    offset: int
    stack_total: int
    control_chambers: tuple[int, ...]
    buildup_sizes: tuple[int, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class SecurityDriver:
    """A special driver, only in the listed lengths and chambers (counted from 0)."""

    label: str
    replaces: str  # label of the plain driver it stands in for
    chambers: tuple[int, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Dimensions:
    """Sizes that some formats give. None = not known: draw schematically, fit not checked."""

    pin_diameter: Nanometres | None = None
    plug_diameter: Nanometres | None = None
    shell_height: Nanometres | None = None  # outside of the shell above the plug's axis
    blade_height: Nanometres | None = None
    chamber_depth: Nanometres | None = None  # from the shear line to the end of the chamber
    spring_solid: Nanometres | None = None
    blank_length: Nanometres | None = None
    cut_angle: int | None = None  # whole degrees, included
    cut_flat: Nanometres | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Origin:
    """Provenance of one field (``depths``, ``macs``, ``master_pins``, ...)."""

    field: str
    provenance: Provenance
    source: str


@dataclass(frozen=True, slots=True, kw_only=True)
class HardwareFormat:
    """One format. ``least_step`` = steps between cuts that must not interchange."""

    name: str
    title: str
    chambers: int
    depths: tuple[Depth, ...]
    reading: Reading
    stop: Stop
    step: Nanometres
    first_cut: Nanometres  # from the stop to the centre of the cut nearest the stop
    spacing: Nanometres
    macs: int
    least_step: int
    master_pins: tuple[int, ...]  # sizes made, in steps, ascending
    max_masters: int  # most master pins in one chamber
    drivers: BandedDrivers | BalancedDrivers
    core: CoreArithmetic | None = None
    security_drivers: tuple[SecurityDriver, ...] = ()
    dimensions: Dimensions = Dimensions()
    origins: tuple[Origin, ...] = ()

    @property
    def levels(self) -> int:
        """How many depths there are."""
        return len(self.depths)

    def from_memory(self) -> tuple[str, ...]:
        """The fields that are not confirmed by a published source or a measurement."""
        return tuple(o.field for o in self.origins if o.provenance is Provenance.MEMORY)

    def positions(self) -> tuple[Nanometres, ...]:
        """Distance of every cut's centre from the stop, in reading order.

        The cut nearest the stop is ``first_cut`` away. Reading order starts at the stop unless a
        shoulder-stopped key is read from the tip or a tip-stopped one from the bow.
        """
        rising = tuple(self.first_cut + i * self.spacing for i in range(self.chambers))
        starts_at_stop = (self.stop is Stop.SHOULDER) == (self.reading is Reading.BOW_TO_TIP)
        return rising if starts_at_stop else rising[::-1]

    def shear_height(self) -> Nanometres | None:
        """Root plus bottom pin, which a sane format keeps constant; None without pin lengths."""
        first = self.depths[0]
        return None if first.bottom_pin is None else first.root + first.bottom_pin

    def number_of(self, level: int) -> int:
        """Depth number of a level."""
        return self.depths[level].number

    def level_of(self, number: int) -> int | None:
        """Level of a depth number, or None when the format has no such depth."""
        for level, depth in enumerate(self.depths):
            if depth.number == number:
                return level
        return None

    def beside(self, level: Level) -> tuple[Level, ...]:
        """Levels of a progression beside a master's cut: whole least steps away, shallow first. A
        two-step master so keeps its parity (*5402 Series Technical Manual*, p. 3-17).
        """
        steps = self.least_step
        return tuple(n for n in range(level % steps, self.levels, steps) if n != level)

    def stamp(self, levels: Bitting) -> str:
        """The cuts as stamped, e.g. ``345621``; separated by blanks where a text has two signs."""
        texts = [self.depths[level].stamped for level in levels]
        return ("" if all(len(text) == 1 for text in texts) else " ").join(texts)

    def read_cuts(self, text: str) -> PartialBitting | None:
        """Levels of cuts as written: ``345621``, ``34??21``, ``3 4 10 2``; ``?`` or ``*`` is free.

        Separated tokens are depth numbers or stamped texts; a run of signs is stamped texts. None
        when the text does not fit the format (wrong count, unknown depth).
        """
        tokens = [token for token in re.split(r"[\s,;/\-]+", text.strip()) if token]
        if len(tokens) == 1 and self.chambers > 1:
            tokens = list(tokens[0])
        if len(tokens) != self.chambers:
            return None
        levels: list[int | None] = []
        for token in tokens:
            if token in ("?", "*"):
                levels.append(None)
                continue
            found = self._level_of_token(token)
            if found is None:
                return None
            levels.append(found)
        return tuple(levels)

    def _level_of_token(self, token: str) -> int | None:
        for level, depth in enumerate(self.depths):
            if token in (depth.stamped, str(depth.number)):
                return level
        return None
