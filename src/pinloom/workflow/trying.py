"""A key tried in a door, for a page: drawn, in words, and against everything else.

Rules are those of the drawing (``pinloom.sheets.heights``): a chamber is free, near or holds the
key; the plug turns when no chamber holds. A test compares the lists below with the job's proof.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from enum import Enum

from pinloom.core.bitting import Bitting, keeps_macs
from pinloom.core.fitting import chamber_positions
from pinloom.core.hardware import HardwareFormat
from pinloom.core.job import Job
from pinloom.core.stacks import PinStack
from pinloom.sheets import section_scene, to_svg
from pinloom.sheets.heights import Chamber, Standing, State, Verdict, by_level, stand
from pinloom.sheets.section import SCALE, describe

__all__ = [
    "Candidate",
    "Cuts",
    "Met",
    "Misread",
    "State",
    "Tried",
    "Verdict",
    "candidates",
    "doors_for",
    "keys_at",
    "read_typed",
    "try_key",
]

CONTROL = "control"


class Misread(Enum):
    """Why typed cuts are no key."""

    NOT_CUTS = "not cuts of this format"
    OPEN = "a cut is left open"


@dataclass(frozen=True, slots=True, kw_only=True)
class Cuts:
    """A key to try: one of the job by name, or typed cuts without one. ``at_control`` = it is a
    core's control key.
    """

    levels: Bitting
    name: str = ""
    at_control: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Candidate:
    """A key of the job that can be tried, control keys included."""

    name: str
    cuts: Cuts


@dataclass(frozen=True, slots=True, kw_only=True)
class Place:
    """One chamber in words. ``pins`` bottom-up by size; ``lift`` = how far the key lifts the stack
    on the drawing, in its millimetres.
    """

    number: int
    cut: str
    pins: tuple[str, ...]
    state: State
    steps: int
    lift: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Tried:
    """A key in a door. ``shall`` = what the chart wants, None for typed cuts and control keys.

    ``cuttable`` = the cuts keep MACS; ``enters`` = the key's blank enters the keyway.
    """

    door: str
    key: str
    verdict: Verdict
    words: str
    drawing: str
    schematic: tuple[str, ...]
    places: tuple[Place, ...]
    shall: bool | None
    cuttable: bool
    enters: bool

    @property
    def opens(self) -> bool:
        """Whether the proof counts it as opening."""
        return self.verdict in (Verdict.TURNS, Verdict.MAY_TURN)


@dataclass(frozen=True, slots=True, kw_only=True)
class Met:
    """One line of a list: a key at a door, and what becomes of it. ``held`` = the chambers that
    keep it out, from 1; ``steps`` = the best of them.
    """

    name: str
    verdict: Verdict
    held: tuple[int, ...]
    steps: int
    shall: bool | None
    enters: bool

    @property
    def opens(self) -> bool:
        """Whether the proof counts it as opening."""
        return self.enters and self.verdict in (Verdict.TURNS, Verdict.MAY_TURN)

    @property
    def fault(self) -> bool:
        """Whether that is against the chart."""
        return self.shall is not None and self.shall != self.opens


def candidates(job: Job) -> tuple[Candidate, ...]:
    """Every key that can be tried by name, in the chart's order, then the control keys."""
    keys = [
        Candidate(name=key.name, cuts=Cuts(levels=levels, name=key.name))
        for key, levels in zip(job.chart.keys, job.bittings, strict=True)
    ]
    for control in job.controls:
        name = f"{CONTROL}:{control.group}" if control.group else CONTROL
        keys.append(
            Candidate(name=name, cuts=Cuts(levels=control.levels, name=name, at_control=True))
        )
    return tuple(keys)


def read_typed(job: Job, text: str) -> Cuts | Misread:
    """Cuts as a person types them, every one given."""
    levels = job.key_format.read_cuts(text)
    if levels is None:
        return Misread.NOT_CUTS
    whole = tuple(level for level in levels if level is not None)
    return Cuts(levels=whole) if len(whole) == len(levels) else Misread.OPEN


def try_key(job: Job, door: int, cuts: Cuts) -> Tried:
    """One key in one door, drawn and in words."""
    made, pins = job.format_of(door), job.pinning[door]
    standing = stand(made, pins, cuts.levels, key_format=job.key_format, at_control=cuts.at_control)
    rest = stand(made, pins, None, key_format=job.key_format, at_control=cuts.at_control)
    key = _key_of(job, cuts)
    scene = section_scene(
        made,
        pins,
        cuts.levels,
        key_format=job.key_format,
        at_control=cuts.at_control,
        key_name=cuts.name,
    )
    return Tried(
        door=job.chart.doors[door].name,
        key=cuts.name,
        verdict=standing.verdict,
        words=describe(standing, cuts.name),
        drawing=to_svg(scene),
        schematic=scene.schematic,
        places=tuple(_places(made, standing, rest)),
        shall=None if key is None else key in job.chart.openers[door],
        cuttable=keeps_macs(cuts.levels, job.key_format.macs),
        enters=_enters(job, door, key),
    )


def keys_at(job: Job, door: int) -> tuple[Met, ...]:
    """Every key of the job at one door: those that open it first, then the narrowest refusals."""
    tables = _Tables(job)
    found = [
        tables.meet(door, number, Cuts(levels=levels, name=job.chart.keys[number].name))
        for number, levels in enumerate(job.bittings)
    ]
    return tuple(sorted(found, key=_order))


def doors_for(job: Job, cuts: Cuts) -> tuple[Met, ...]:
    """Every door of the job for one key: those it opens first, then the narrowest refusals."""
    tables, key = _Tables(job), _key_of(job, cuts)
    found = [
        replace(tables.meet(number, key, cuts), name=door.name)
        for number, door in enumerate(job.chart.doors)
    ]
    return tuple(sorted(found, key=_order))


def _order(met: Met) -> tuple[bool, bool, int, int]:
    return (not met.fault, not met.opens, len(met.held), met.steps)


class _Tables:
    """What each chamber does to each level; a large job repeats few stacks in many doors."""

    def __init__(self, job: Job) -> None:
        self._job = job
        self._known: dict[tuple[str, int, PinStack | None], tuple[Chamber, ...]] = {}

    def meet(self, door: int, key: int | None, cuts: Cuts) -> Met:
        """One key at one door; ``key`` = its index, None for typed cuts and control keys."""
        job = self._job
        made = job.format_of(door)
        if cuts.at_control:
            states = stand(
                made, job.pinning[door], cuts.levels, key_format=job.key_format, at_control=True
            ).chambers
        else:
            states = tuple(self._chambers(door, made, cuts.levels))
        held = tuple(one.number for one in states if one.state is State.HELD)
        verdict = Verdict.HELD if held else Verdict.TURNS
        if not held and any(one.state is State.NEAR for one in states):
            verdict = Verdict.MAY_TURN
        if not states:
            verdict = Verdict.UNKNOWN
        return Met(
            name=cuts.name,
            verdict=verdict,
            held=held,
            steps=max((one.steps for one in states if one.state is State.HELD), default=0),
            shall=None if key is None else key in job.chart.openers[door],
            enters=_enters(job, door, key),
        )

    def _chambers(
        self, door: int, made: HardwareFormat, levels: Sequence[int]
    ) -> Iterator[Chamber]:
        meets = chamber_positions(self._job.key_format, made)
        for chamber, position in enumerate(meets or ()):
            stack = self._job.pinning[door].chambers[chamber]
            case = (made.name, chamber, stack)
            if case not in self._known:
                self._known[case] = by_level(made, chamber, stack)
            yield self._known[case][levels[position]]


def _places(made: HardwareFormat, standing: Standing, rest: Standing) -> Iterator[Place]:
    for chamber, idle in zip(standing.chambers, rest.chambers, strict=True):
        lift = 0.0
        if chamber.pins:
            lift = (chamber.pins[0].foot - idle.pins[0].foot) / 1_000_000 * SCALE
        yield Place(
            number=chamber.number,
            cut="-" if chamber.level is None else made.depths[chamber.level].stamped,
            pins=tuple(f"{pin.kind.value} {pin.size}".strip() for pin in chamber.pins),
            state=chamber.state,
            steps=max(chamber.steps, 1) if chamber.state is not State.FREE else 0,
            lift=round(lift, 3),
        )


def _key_of(job: Job, cuts: Cuts) -> int | None:
    """The index of a key of the chart; None for typed cuts and control keys."""
    if not cuts.name or cuts.at_control:
        return None
    return job.chart.key_index().get(cuts.name)


def _enters(job: Job, door: int, key: int | None) -> bool:
    return key is None or job.chart.enters(job.chart.keys[key], job.chart.doors[door])
