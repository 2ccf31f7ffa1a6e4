"""A job: one chart on one set of hardware with its cuts, its pins and what was proved of them.

Stage results are records here so that stages need not know each other.
"""

from dataclasses import dataclass
from enum import Enum

from pinloom.core.bitting import Bitting
from pinloom.core.chart import AccessChart
from pinloom.core.hardware import HardwareFormat
from pinloom.core.room import KeptRoom
from pinloom.core.stacks import PinnedCylinder


class Preference(Enum):
    """What a design makes least or most once every rule holds."""

    FEWEST_MASTER_PINS = "fewest-master-pins"
    FEWEST_INCIDENTAL_KEYS = "fewest-incidental-keys"
    WIDEST_MARGINS = "widest-margins"
    FEWEST_PIN_SIZES = "fewest-pin-sizes"


@dataclass(frozen=True, slots=True, kw_only=True)
class ControlKey:
    """The control key of a core group ('' = the job's only group)."""

    group: str
    levels: Bitting


class FaultKind(Enum):
    """How a key and a cylinder disagree with the chart."""

    OPENS = "opens"  # opens, and shall not
    BLOCKED = "blocked"  # shall open, and does not
    REACHES_CONTROL = "reaches control"  # an operating key turns a core's control sleeve
    CONTROL_OPERATES = "control operates"  # a control key operates a cylinder it should not
    CONTROL_BLOCKED = "control blocked"  # a control key does not reach its own control line
    BAD_STACK = "bad stack"  # pins that cannot be, or do not fit; ``key`` is empty


@dataclass(frozen=True, slots=True, kw_only=True)
class ProofFault:
    """One disagreement. ``key`` is a key's name, ``control`` or ``control:GROUP``, or empty."""

    kind: FaultKind
    key: str
    door: str
    detail: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Margin:
    """The weakest refusal found: ``chambers`` keep the key out, the best of them by ``steps``."""

    key: str
    door: str
    chambers: int
    steps: int


@dataclass(frozen=True, slots=True, kw_only=True)
class ProofReport:
    """What the proof saw. Proved when there is no fault. ``pairs`` = key x cylinder pairs tried."""

    faults: tuple[ProofFault, ...]
    pairs: int
    tightest: Margin | None
    fingerprint: str  # of chart, formats, cuts and pins as proved

    @property
    def proved(self) -> bool:
        """True when every key does exactly what the chart says."""
        return not self.faults


@dataclass(frozen=True, slots=True, kw_only=True)
class LayoutLevel:
    """One level of the layout: which chambers (from 0) tell its members apart, and with what."""

    name: str  # e.g. "areas", "groups", "keys"
    chambers: tuple[int, ...]
    levels: tuple[
        tuple[int, ...], ...
    ]  # per listed chamber, the levels in use, in progression order


@dataclass(frozen=True, slots=True, kw_only=True)
class LayoutGroup:
    """What the keys under one master carry, read from the finished cuts.

    ``master`` = its name, '' for change keys that no master of their own holds together: they lie
    right under ``above``, and ``first`` is the first of them. ``above`` = the next master up, ''
    at the top. ``kept`` = chambers (from 0) in which the master has the cut of ``above``.
    ``parts`` = masters and groups right under it, 0 where change keys are; ``keys`` = change keys
    at any depth below. ``carried`` = per chamber the levels of its keys, one = all carry it; empty
    where they show no layout. ``further`` = per chamber more levels that a new key may have.
    ``moved`` = names of keys below that do not follow. ``unused`` = the next combinations for a
    new key with a door of its own under the same masters, ``left`` = how many there are.
    """

    master: str
    above: str
    first: str = ""
    kept: tuple[int, ...] = ()
    parts: int = 0
    keys: int = 0
    carried: tuple[tuple[int, ...], ...] = ()
    further: tuple[tuple[int, ...], ...] = ()
    moved: tuple[str, ...] = ()
    unused: tuple[Bitting, ...] = ()
    left: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class Layout:
    """How a structured design uses the chambers, so that a person can extend it by hand.

    ``master`` is the top master's bitting; ``levels`` sum up which chambers the masters of a level
    and the change keys use. ``groups`` tell it master by master, each before those under it;
    ``crossing`` = names of keys that open doors and stand in no group.
    """

    master: Bitting
    levels: tuple[LayoutLevel, ...]
    note: str = ""
    groups: tuple[LayoutGroup, ...] = ()
    crossing: tuple[str, ...] = ()

    def exceptions(self) -> tuple[str, ...]:
        """Names of all keys that open doors and do not follow the layout, each once."""
        moved = (name for group in self.groups for name in group.moved)
        return tuple(dict.fromkeys((*self.crossing, *moved)))


class ClaimKind(Enum):
    """How good a preferred figure is known to be."""

    PROVED_LEAST = "proved least"
    BOUNDED = "bounded"  # nothing below ``bound`` is possible; the gap is open
    BEST_FOUND = "best found"  # no useful bound


@dataclass(frozen=True, slots=True, kw_only=True)
class Claim:
    """A figure that the preference optimised, and what is known about its best value."""

    measure: str
    value: int
    kind: ClaimKind
    bound: int | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Job:
    """Everything about one key system at one revision.

    ``formats[0]`` is the job's own format, the one keys are cut to; the others are formats named by
    single cylinders. ``bittings[k]`` belongs to ``chart.keys[k]`` and ``pinning[d]`` to
    ``chart.doors[d]``. ``kept`` = room for further change keys, by master.
    """

    name: str
    revision: int
    chart: AccessChart
    formats: tuple[HardwareFormat, ...]
    bittings: tuple[Bitting, ...]
    controls: tuple[ControlKey, ...]
    pinning: tuple[PinnedCylinder, ...]
    proof: ProofReport
    preference: Preference = Preference.FEWEST_MASTER_PINS
    seed: int = 0
    layout: Layout | None = None
    claims: tuple[Claim, ...] = ()
    kept: tuple[KeptRoom, ...] = ()

    @property
    def key_format(self) -> HardwareFormat:
        """The format that the job's keys are cut to."""
        return self.formats[0]

    def cuts(self) -> dict[str, Bitting]:
        """Key name -> its cuts, control keys left out."""
        return {key.name: cut for key, cut in zip(self.chart.keys, self.bittings, strict=True)}

    def format_of(self, door: int) -> HardwareFormat:
        """The format of one cylinder, by door index."""
        name = self.chart.doors[door].hardware
        if not name:
            return self.formats[0]
        return next(f for f in self.formats if f.name == name)
