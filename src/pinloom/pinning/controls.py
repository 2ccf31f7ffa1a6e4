"""Control keys of interchangeable cores: found for a job, or checked as given.

Rules. The control key is reserved: it is no operating key, and no operating key draws a core.

* Small format: it acts in every chamber and differs from the top master in every one by the least
  step (*Peaks Preferred* manual, p. 4-9). Large format: it acts in the control chambers only;
  elsewhere it carries cuts that operate every core of the group, the top master's.
* MACS holds for it, and every build-up pin it asks for must be made: not too thin, not too long.
* By the second rule of opening, in at least one chamber each operating key is the least step away
  from the control line of every core, and the control key from the operating line of every
  cylinder it enters, cores of other groups and plain cylinders included. Control keys of different
  groups are kept apart in the same way.

Theory of operation. ``controlspace`` works out, per position of the key, which levels are allowed
at all; a depth-first walk in a seeded order respects MACS; a full candidate is tried against all
cylinders and keys at once in numpy. Acceptable ones are ranked by key rules and margin, the first
``ENOUGH`` of them only. The walk counts candidates, so the same seed gives the same key.
"""

import random
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from itertools import islice

from pinloom.core.bitting import Bitting, PartialBitting, keeps_macs
from pinloom.core.chart import AccessChart
from pinloom.core.findings import Finding, caution, fault
from pinloom.core.hardware import HardwareFormat, Reading
from pinloom.core.job import ControlKey
from pinloom.core.keyrules import KeyRules, breaches
from pinloom.core.names import natural
from pinloom.pinning.controlspace import ControlSpace, control_space
from pinloom.pinning.walk import keys_within

BUDGET = 20_000  # candidates tried for one group before giving up
ENOUGH = 32  # acceptable candidates compared


@dataclass(frozen=True, slots=True, kw_only=True)
class Chosen:
    """A control key a core group, by natural order of groups; a group without one has a fault."""

    controls: tuple[ControlKey, ...]
    findings: tuple[Finding, ...]


def control_of(controls: Sequence[ControlKey], group: str) -> ControlKey | None:
    """The control key of a core group; a job's only key, without a group, serves every core."""
    for control in controls:
        if control.group == group or (len(controls) == 1 and not control.group):
            return control
    return None


def control_name(group: str) -> str:
    """The name of a group's control key in files and findings."""
    return f"control:{group}" if group else "control"


def core_groups(chart: AccessChart, formats: Sequence[HardwareFormat]) -> tuple[str, ...]:
    """Names of the core groups of a job, '' for cores without one."""
    found = {
        door.core_group
        for door, made in zip(chart.doors, formats, strict=True)
        if made.core is not None
    }
    return tuple(sorted(found, key=natural))


def choose_controls(
    chart: AccessChart,
    key_format: HardwareFormat,
    cylinder_formats: Sequence[HardwareFormat],
    bittings: Sequence[Bitting],
    given: Sequence[tuple[str, PartialBitting]] = (),
    *,
    seed: int = 0,
    budget: int = BUDGET,
    acceptable: Callable[[Bitting], bool] = lambda _: True,
) -> Chosen:
    """A control key for every core group of a designed job. ``given`` = cuts fixed beforehand by
    group, None where free; one entry for '' alone serves all groups, as one key. Cuts that are
    given whole are taken as they are: ``check_controls`` says what is wrong with them.
    ``acceptable`` = a further rule for chosen keys, such as not to open another system.
    """
    groups = core_groups(chart, cylinder_formats)
    fixed = dict(given)
    if groups and set(fixed) == {""}:
        groups = ("",)
    controls: list[ControlKey] = []
    findings: list[Finding] = []
    for group in groups:
        members = None if groups == ("",) else group
        space = control_space(chart, key_format, cylinder_formats, bittings, members, controls)
        asked = fixed.get(group, (None,) * key_format.chambers)
        whole = tuple(level for level in asked if level is not None)
        found: Bitting | Finding = whole
        if len(whole) < len(asked):
            order = random.Random(f"{seed}:{group}")  # noqa: S311
            found = _choose(space, asked, order, budget, acceptable)
        if isinstance(found, Finding):
            findings.append(found)
        else:
            controls.append(ControlKey(group=group, levels=found))
    return Chosen(controls=tuple(controls), findings=tuple(findings))


def check_controls(
    chart: AccessChart,
    key_format: HardwareFormat,
    cylinder_formats: Sequence[HardwareFormat],
    bittings: Sequence[Bitting],
    controls: Sequence[ControlKey],
) -> tuple[Finding, ...]:
    """What is wrong or unwise about control keys as they are, group by group. Whether they and the
    operating keys keep apart in every door is for the proof.
    """
    findings: list[Finding] = []
    for place, control in enumerate(controls):
        members = control.group if len(controls) > 1 or control.group else None
        others = [*controls[:place], *controls[place + 1 :]]
        space = control_space(chart, key_format, cylinder_formats, bittings, members, others)
        findings.extend(_check_one(space, control))
        findings += [
            fault(
                "pinning-control-twice",
                key=control_name(control.group),
                other=control_name(other.group),
            )
            for other in controls[:place]
            if other.levels == control.levels
        ]
    return tuple(findings)


def _check_one(space: ControlSpace, control: ControlKey) -> Iterator[Finding]:
    name = control_name(control.group)
    if not keeps_macs(control.levels, space.macs):
        yield fault("pinning-control-macs", key=name, macs=space.macs)
    near = [str(p + 1) for p, cut in enumerate(control.levels) if cut in space.beside_master[p]]
    if near:
        yield caution("pinning-control-near-master", key=name, positions=", ".join(near))
    if space.is_operating_key(control.levels):
        yield fault("pinning-control-operates", key=name)


def _choose(
    space: ControlSpace,
    asked: PartialBitting,
    order: random.Random,
    budget: int,
    acceptable: Callable[[Bitting], bool],
) -> Bitting | Finding:
    """The best of the first acceptable candidates, or why there is none."""
    name = control_name(space.group or "")
    if space.blocked_door:
        return fault("pinning-control-elsewhere", key=name, door=space.blocked_door)
    choices = [
        [level for level in allowed if fixed in (None, level)]
        for allowed, fixed in zip(space.allowed, asked, strict=True)
    ]
    for position, levels in enumerate(choices, start=1):
        if not levels:
            return fault("pinning-control-position", key=name, position=position)
        order.shuffle(levels)
    accepted: list[tuple[int, int, Bitting]] = []
    tried = 0
    for candidate in islice(keys_within(choices, space.macs), budget):
        tried += 1
        margin = space.margin(candidate)
        if margin >= space.least_step and acceptable(candidate):
            accepted.append((_breaches(space, candidate), -margin, candidate))
        if len(accepted) == ENOUGH:
            break
    if accepted:
        return min(accepted, key=lambda found: found[:2])[2]
    code = "pinning-control-gave-up" if tried == budget else "pinning-control-none"
    return fault(code, key=name, tried=tried)


def _breaches(space: ControlSpace, levels: Bitting) -> int:
    bow_first = space.reading is Reading.BOW_TO_TIP
    return len(breaches(levels, space.levels, bow_first, KeyRules()))
