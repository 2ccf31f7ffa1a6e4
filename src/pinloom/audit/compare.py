"""Two designs of one chart side by side, so that a person can choose.

Every measure says which way is better; none is weighed against another. What a design claims of its
preferred figure is carried along with how well it is known.
"""

from dataclasses import dataclass
from enum import Enum

from pinloom.audit.records import Audit, Census
from pinloom.core.job import Claim, Job
from pinloom.core.stacks import PinStack


class Measure(Enum):
    """What is compared; the value is its title."""

    MASTER_PINS = "master pins"
    PIN_SIZES = "sizes of pins used"
    CROWDED = "chambers with more than two master pins"
    FAULTS = "faults"
    INCIDENTAL = "incidental combinations, all doors"
    WORST_DOOR = "incidental combinations, worst door"
    OPENING = "distinct keys that open a door"
    STRONGEST = "doors of the strongest incidental key"
    WEAKEST_CHAMBERS = "chambers of the weakest refusal"
    WEAKEST_STEPS = "steps of the weakest refusal"
    FRAGILE = "doors on one chamber and one least step"
    ONE_STEP_MORE = "refusals lost to one step more"
    AT_STAKE = "doors with a master at stake"


_MORE_IS_BETTER = frozenset({Measure.WEAKEST_CHAMBERS, Measure.WEAKEST_STEPS})


@dataclass(frozen=True, slots=True, kw_only=True)
class Compared:
    """One measure of two designs; None where a design has none."""

    measure: Measure
    one: int | None
    other: int | None

    @property
    def better(self) -> int:
        """-1 where the first is better, 1 where the second is, 0 where neither."""
        if self.one is None or self.other is None or self.one == self.other:
            return 0
        first = (self.one < self.other) != (self.measure in _MORE_IS_BETTER)
        return -1 if first else 1


@dataclass(frozen=True, slots=True, kw_only=True)
class Comparison:
    """All measures, and what each design claims."""

    rows: tuple[Compared, ...]
    one_claims: tuple[Claim, ...]
    other_claims: tuple[Claim, ...]


def compare(one: tuple[Job, Audit], other: tuple[Job, Audit]) -> Comparison:
    """Compare two audited designs. Raises ValueError when their doors or keys differ."""
    if one[0].chart.openers != other[0].chart.openers or _names(one[0]) != _names(other[0]):
        raise ValueError("only designs of one chart can be compared")
    left, right = _measures(*one), _measures(*other)
    return Comparison(
        rows=tuple(
            Compared(measure=measure, one=left[measure], other=right[measure])
            for measure in Measure
        ),
        one_claims=one[0].claims,
        other_claims=other[0].claims,
    )


def _names(job: Job) -> tuple[tuple[str, ...], tuple[str, ...]]:
    return tuple(d.name for d in job.chart.doors), tuple(k.name for k in job.chart.keys)


def _measures(job: Job, audit: Audit) -> dict[Measure, int | None]:
    stacks = [stack for c in job.pinning for stack in c.chambers if stack is not None]
    extra = [door.tolerant - door.issued for door in audit.doors]
    weakest = audit.neighbours.margins[0] if audit.neighbours.margins else (None, None, 0)
    return {
        Measure.MASTER_PINS: sum(len(stack.masters) for stack in stacks),
        Measure.PIN_SIZES: len({part for stack in stacks for part in _parts(stack)}),
        Measure.CROWDED: sum(len(stack.masters) > 2 for stack in stacks),
        Measure.FAULTS: len(audit.faults),
        Measure.INCIDENTAL: sum(extra),
        Measure.WORST_DOOR: max(extra, default=0),
        Measure.OPENING: None if audit.tolerant is None else audit.tolerant.opening,
        Measure.STRONGEST: _strongest(audit.tolerant),
        Measure.WEAKEST_CHAMBERS: weakest[0],
        Measure.WEAKEST_STEPS: weakest[1],
        Measure.FRAGILE: len(audit.neighbours.fragile),
        Measure.ONE_STEP_MORE: audit.neighbours.one_step_more,
        Measure.AT_STAKE: sum(bool(door.at_stake) for door in audit.exposure),
    }


def _strongest(census: Census | None) -> int | None:
    """Doors of the strongest key nobody ordered: none of two doors or more means at most one."""
    if census is None:
        return None
    return census.strongest[0].doors if census.strongest else 1


def _parts(stack: PinStack) -> list[tuple[str, int]]:
    parts = [("bottom", stack.bottom), *(("master", size) for size in stack.masters)]
    return parts if stack.buildup is None else [*parts, ("build-up", stack.buildup)]
