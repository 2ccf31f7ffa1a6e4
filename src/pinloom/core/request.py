"""What a design is asked for, and the three honest answers to it.

Never confuse "proved impossible" with "gave up": the first names its reason, the second its budget.
"""

from dataclasses import dataclass, field

from pinloom.core.bitting import Bitting, PartialBitting
from pinloom.core.chart import AccessChart
from pinloom.core.findings import Finding
from pinloom.core.hardware import HardwareFormat
from pinloom.core.job import Claim, ControlKey, Preference
from pinloom.core.keyrules import KeyRules


@dataclass(frozen=True, slots=True, kw_only=True)
class DesignRequest:
    """One design task. Budgets are counted in steps, never in seconds, so that answers repeat.

    ``fixed[k]`` = cuts of ``chart.keys[k]`` that must stay (None entries free; None = all free).
    ``cylinder_formats[d]`` = format of ``chart.doors[d]``. ``avoid`` = bittings of other
    systems that no key may equal; ``avoid_stacks`` = per foreign cylinder and position the levels
    that operate it; no key of this job may open one. ``master_pin_sizes`` (pins on
    hand) and ``max_masters`` restrict the format's own further.
    """

    chart: AccessChart
    key_format: HardwareFormat
    cylinder_formats: tuple[HardwareFormat, ...]
    fixed: tuple[PartialBitting | None, ...]
    preference: Preference = Preference.FEWEST_MASTER_PINS
    seed: int = 0
    budget: int = 20_000
    rules: KeyRules = field(default_factory=KeyRules)
    avoid: tuple[Bitting, ...] = ()
    avoid_stacks: tuple[tuple[tuple[int, ...], ...], ...] = ()
    master_pin_sizes: tuple[int, ...] | None = None
    max_masters: int | None = None
    control: tuple[tuple[str, PartialBitting], ...] = ()  # given control cuts by core group
    alternatives: tuple[HardwareFormat, ...] = ()  # formats to try when this one cannot do it
    seek_remedies: bool = True  # whether a refusal also looks for what would help


@dataclass(frozen=True, slots=True, kw_only=True)
class Designed:
    """A design. ``bittings[k]`` belongs to ``chart.keys[k]``. Still to be pinned and proved."""

    bittings: tuple[Bitting, ...]
    controls: tuple[ControlKey, ...] = ()
    claims: tuple[Claim, ...] = ()
    findings: tuple[Finding, ...] = ()
    steps: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class Remedy:
    """One change that would make it possible. ``verified`` = a design with it was found."""

    change: str  # code of the wording, e.g. "drop-mark", "single-key-door", "one-more-chamber"
    values: tuple[tuple[str, str], ...]
    verified: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class ProvedImpossible:
    """No design exists on this hardware. ``reason`` is a theorem with the job's numbers or a clash.

    ``doors`` and ``keys`` already conflict by themselves; ``minimal`` says that dropping any one of
    them was shown to make the rest possible.
    """

    reason: Finding
    doors: tuple[str, ...]
    keys: tuple[str, ...]
    minimal: bool
    remedies: tuple[Remedy, ...] = ()
    steps: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class GaveUp:
    """Neither found nor excluded within the budget. ``best`` is the nearest design seen."""

    steps: int
    best: tuple[Bitting, ...] | None
    wrong: tuple[tuple[str, str], ...]  # (key, door) pairs that the best design still opens wrongly
    reason: Finding | None = None
    remedies: tuple[Remedy, ...] = ()


DesignOutcome = Designed | ProvedImpossible | GaveUp
