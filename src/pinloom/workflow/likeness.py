"""A cylinder's pins held against a job: what the record says, who opens it, what it is taken for.

Openings go by the two rules of the proof and by its own heights of pins and roots: *exact* is
distance 0 in every chamber, *tolerant* is nearer than the least step in every one. A chamber that
is not known lets every key pass, so with unknown chambers the lists are the most that may open;
whoever is kept out is kept out for certain.

A cylinder is taken for what its lines say: the keys of the job that are exact in it are those it
could have been pinned for; lines that none of them uses are left over.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from math import prod

from pinloom.core.bitting import Bitting
from pinloom.core.chart import KeyStanding
from pinloom.core.findings import Finding
from pinloom.core.hardware import CoreKind, HardwareFormat
from pinloom.core.job import Job
from pinloom.core.lengths import Nanometres
from pinloom.core.stacks import PinnedCylinder, PinStack
from pinloom.pinning import stack_faults
from pinloom.proof.lift import Fit, fit, offsets, passes, steps_off
from pinloom.workflow.pinnings import Chambers

MOST_NEAR = 5  # doors told when none has exactly these pins


@dataclass(frozen=True, slots=True, kw_only=True)
class Difference:
    """One chamber, from 1, in which the pins are not those on record; pins as in a list of changes
    (secret). ``driver`` = only the driver is another.
    """

    chamber: int
    record: str
    found: str
    driver: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Opener:
    """A key that opens. ``shall`` = the chart wants it, None where no door is known."""

    key: str
    exact: bool
    shall: bool | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Near:
    """A key that opens all chambers but one, or a door whose pins are nearly these."""

    name: str
    chambers: tuple[int, ...]  # that differ, or that hold the key


@dataclass(frozen=True, slots=True, kw_only=True)
class Likeness:
    """One cylinder. ``door`` is empty where it is not known, and ``differences``, ``blocked`` say
    nothing then. ``unknown`` = chambers of which nothing is known, from 1. ``blocked`` = keys that
    shall open and do not; ``controls`` = control keys that turn a core's sleeve. ``doors`` = doors
    of the record by how many known chambers differ: all that are the same, else the nearest.
    ``left_over`` = (chamber, lines) that no exact key uses. ``combinations`` that are exact; None
    while a chamber is not known.
    """

    name: str
    door: str
    unknown: tuple[int, ...]
    differences: tuple[Difference, ...]
    openers: tuple[Opener, ...]
    blocked: tuple[str, ...]
    controls: tuple[Opener, ...]
    nearly: tuple[Near, ...]
    doors: tuple[Near, ...]
    left_over: tuple[tuple[int, int], ...]
    combinations: int | None
    findings: tuple[Finding, ...]

    @property
    def same(self) -> bool:
        """Whether it is what the record says: of its door, or of some door where none is known."""
        if self.door:
            return not self.differences
        return any(not near.chambers for near in self.doors)

    @property
    def faulty(self) -> bool:
        """Whether some key opens it that shall not, or some key does not that shall."""
        wrong = any(one.shall is False for one in (*self.openers, *self.controls))
        return wrong or bool(self.blocked)


def likeness(job: Job, name: str, pins: Chambers) -> Likeness:
    """Hold one cylinder against the job. ``name`` = a door of the job, or any other text."""
    index = job.chart.door_index().get(name)
    made = job.key_format if index is None else job.format_of(index)
    fitted = fit(job.key_format, made)
    known = {c: pins[c] for c in range(made.chambers) if c in pins}
    keys = job.chart.keys
    door = None if index is None else job.chart.doors[index]
    met = _met(fitted, known)
    offs = [_held(met, cut) for cut in job.bittings]
    entering = [fitted.enters and (door is None or job.chart.enters(key, door)) for key in keys]
    openers, nearly, exact = [], [], []
    for k, (key, (off, held)) in enumerate(zip(keys, offs, strict=True)):
        if not entering[k]:
            continue
        shall = None if index is None else _shall(job, index, k)
        if not held:
            openers.append(Opener(key=key.name, exact=not off, shall=shall))
            if not off:
                exact.append(job.bittings[k])
        elif len(held) == 1:
            nearly.append(Near(name=key.name, chambers=held))
    blocked = [
        key.name
        for k, key in enumerate(keys)
        if index is not None and _shall(job, index, k) and (offs[k][0] or not entering[k])
    ]
    controls = _controls(job, fitted, known)
    mine = () if index is None else _own_control(job, index)
    turned = {name for name, exact_here in controls if exact_here}
    blocked += [name for name in mine if fitted.cylinder.core and name not in turned]
    unknown = tuple(c + 1 for c in range(made.chambers) if c not in known)
    return Likeness(
        name=name,
        door="" if door is None else door.name,
        unknown=unknown,
        differences=() if index is None else _differences(job, index, known),
        openers=tuple(openers),
        blocked=tuple(blocked),
        controls=tuple(
            Opener(key=name, exact=line, shall=None if index is None else name in mine)
            for name, line in controls
        ),
        nearly=tuple(nearly),
        doors=_doors(job, made, known),
        left_over=_left_over(fitted, known, exact),
        combinations=None if unknown else _combinations(fitted, known),
        findings=_built(made, name, known),
    )


def _shall(job: Job, door: int, key: int) -> bool:
    active = job.chart.keys[key].standing is KeyStanding.ACTIVE
    return active and key in job.chart.openers[door]


@dataclass(frozen=True, slots=True, kw_only=True)
class _Met:
    """One known chamber with pins, from 1, as keys meet it. ``at`` = index of the cut that does;
    ``off`` and ``held`` = levels that stand on no line, and those kept out.
    """

    chamber: int
    at: int | None
    off: frozenset[int]
    held: frozenset[int]


def _met(fitted: Fit, known: Mapping[int, PinStack | None], *, control: bool = False) -> list[_Met]:
    """The chambers as keys meet them; ``control`` = towards a core's control line."""
    found = []
    for chamber, stack in known.items():
        if stack is None:
            continue
        ways = offsets(fitted, stack, _line(fitted, chamber, control=control))
        at = fitted.cuts[chamber]
        if at is None or ways is None:  # it lets nobody open and keeps nobody out
            found.append(_Met(chamber=chamber + 1, at=None, off=frozenset(), held=frozenset()))
            continue
        step, least = fitted.step, fitted.cylinder.least_step
        found.append(
            _Met(
                chamber=chamber + 1,
                at=at,
                off=frozenset(v for v, way in enumerate(ways) if not passes(way, step)),
                held=frozenset(v for v, way in enumerate(ways) if steps_off(way, step) >= least),
            )
        )
    return found


def _held(met: Sequence[_Met], cut: Bitting) -> tuple[tuple[int, ...], tuple[int, ...]]:
    """Chambers in which a key is off every line, and those that keep it out."""
    off = tuple(one.chamber for one in met if one.at is None or cut[one.at] in one.off)
    held = tuple(one.chamber for one in met if one.at is not None and cut[one.at] in one.held)
    return off, held


def _line(fitted: Fit, chamber: int, *, control: bool) -> Nanometres:
    """The control line crosses every chamber of a small-format core, and the control chambers of a
    large-format one; elsewhere its control key operates like any key.
    """
    core = fitted.cylinder.core
    if not control or core is None:
        return fitted.line
    crosses = core.kind is CoreKind.SMALL or chamber in core.control_chambers
    return fitted.control_line() if crosses else fitted.line


def _controls(
    job: Job, fitted: Fit, known: Mapping[int, PinStack | None]
) -> list[tuple[str, bool]]:
    """Control keys that turn the sleeve of a core, and whether exactly."""
    if fitted.cylinder.core is None or not fitted.enters:
        return []
    found = []
    met = _met(fitted, known, control=True)
    for one in job.controls:
        off, held = _held(met, one.levels)
        if not held:
            found.append((_control_name(one.group), not off))
    return found


def _own_control(job: Job, door: int) -> tuple[str, ...]:
    """The control key of a door; a single one without a group serves every core."""
    alone = len(job.controls) == 1 and not job.controls[0].group
    group = job.chart.doors[door].core_group
    return tuple(_control_name(one.group) for one in job.controls if alone or one.group == group)


def _control_name(group: str) -> str:
    return f"control:{group}" if group else "control"


def _differences(
    job: Job, door: int, known: Mapping[int, PinStack | None]
) -> tuple[Difference, ...]:
    made, record = job.format_of(door), job.pinning[door].chambers
    return tuple(
        Difference(
            chamber=chamber + 1,
            record=told(made, record[chamber]),
            found=told(made, stack),
            driver=_lines(record[chamber]) == _lines(stack),
        )
        for chamber, stack in known.items()
        if _differs(record[chamber], stack)
    )


def _differs(record: PinStack | None, found: PinStack | None) -> bool:
    """A driver counts only where the field tells it."""
    if _lines(record) != _lines(found):
        return True
    return bool(record and found and found.driver and record.driver != found.driver)


def _lines(stack: PinStack | None) -> tuple[object, ...] | None:
    return None if stack is None else (stack.bottom, stack.masters, stack.buildup)


def told(made: HardwareFormat, stack: PinStack | None) -> str:
    """A stack in one word: bottom+masters, a build-up pin behind a stroke, ``-`` without pins."""
    if stack is None:
        return "-"
    pins = "+".join(str(v) for v in (made.number_of(stack.bottom), *stack.masters))
    return pins if stack.buildup is None else f"{pins}/{stack.buildup}"


def _doors(
    job: Job, made: HardwareFormat, known: Mapping[int, PinStack | None]
) -> tuple[Near, ...]:
    """Doors with these pins, else those that differ in the fewest chambers."""
    ranked = sorted(
        (len(differing := _differing(cylinder, known)), d, differing)
        for d, cylinder in enumerate(job.pinning)
        if job.format_of(d).name == made.name
    )
    same = [entry for entry in ranked if not entry[0]]
    near = [entry for entry in ranked if entry[0] < len(known)][:MOST_NEAR]
    return tuple(
        Near(name=job.chart.doors[d].name, chambers=differing) for _, d, differing in same or near
    )


def _differing(cylinder: PinnedCylinder, known: Mapping[int, PinStack | None]) -> tuple[int, ...]:
    return tuple(
        chamber + 1
        for chamber, stack in known.items()
        if _lines(cylinder.chambers[chamber]) != _lines(stack)
    )


def _left_over(
    fitted: Fit, known: Mapping[int, PinStack | None], exact: Sequence[Bitting]
) -> tuple[tuple[int, int], ...]:
    """How many lines of each chamber none of these keys stands on."""
    found = []
    for chamber, stack in known.items():
        at = fitted.cuts[chamber]
        if stack is None or at is None:
            continue
        used = {cut[at] for cut in exact}
        spare = sum(level not in used for level in _passing(fitted, stack))
        if spare:
            found.append((chamber + 1, spare))
    return tuple(found)


def _passing(fitted: Fit, stack: PinStack) -> list[int]:
    """Levels of a key that stand on a line of the stack."""
    ways = offsets(fitted, stack, fitted.line) or ()
    return [level for level, way in enumerate(ways) if passes(way, fitted.step)]


def _combinations(fitted: Fit, known: Mapping[int, PinStack | None]) -> int:
    """How many combinations are exact; a chamber without pins passes every depth."""
    return prod(
        len(fitted.roots) if stack is None else len(_passing(fitted, stack))
        for stack in known.values()
    )


def _built(
    made: HardwareFormat, name: str, known: Mapping[int, PinStack | None]
) -> tuple[Finding, ...]:
    """What a bench would say of these pins; a driver that nobody told is not missed."""
    chambers = tuple(known.get(c) for c in range(made.chambers))
    said = stack_faults(made, PinnedCylinder(door=name or "?", chambers=chambers))
    return tuple(one for one in said if one.code != "pinning-no-driver")
