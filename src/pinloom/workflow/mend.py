"""Existing cuts and pins, also incomplete or faulty: what is wrong, and the least that mends it.

Theory of operation. What is known for certain makes a job of its own, *as found*: keys whose every
cut is known, doors whose every chamber is known. It is proved as it stands, which says what is
wrong. Then it is grown to the whole chart: keys and doors that are not in it are to be cut and to
be pinned. So the least that mends is what growth finds, in its order: no key re-cut if it can be
helped, then the fewest keys; of cylinders those that must, then the fewest others.

An unknown cut is read from the pins where they leave one depth: each door of the key holds a line
for it in every chamber, so the depth is among those that all its doors hold. A key that stays
unknown may be in somebody's pocket: the plan gives it cuts that the pins on the wall serve if there
are any, and says that it must be read or cut anew.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace

from pinloom.core.bitting import Bitting, PartialBitting
from pinloom.core.chart import AccessChart
from pinloom.core.findings import Finding, caution, fault, has_fault
from pinloom.core.fitting import chamber_positions
from pinloom.core.job import ControlKey, Job
from pinloom.core.request import DesignOutcome, DesignRequest
from pinloom.core.stacks import PinnedCylinder, PinStack
from pinloom.design import design
from pinloom.growth.changes import Change, changes
from pinloom.growth.grow import NotGrown, grow
from pinloom.pinning import pin_job
from pinloom.workflow.bittings import CutTable, is_control, known_controls, read_cuts
from pinloom.workflow.folder import Saved, check_target, save
from pinloom.workflow.grow import ALL, changes_csv, made_job
from pinloom.workflow.inputs import Inputs, read_inputs
from pinloom.workflow.likeness import Likeness, likeness, told
from pinloom.workflow.mendcontrols import read_controls
from pinloom.workflow.pin import PinOrder
from pinloom.workflow.pinnings import Chambers, read_pinning
from pinloom.workflow.verdict import judge

Progress = Callable[[str], None]
KnownPins = Mapping[str, Chambers]  # by door; a chamber that is absent is not known


@dataclass(frozen=True, slots=True, kw_only=True)
class MendOrder:
    """What was found, and which keys may get new cuts: names, or ``*`` or nothing for all."""

    found: PinOrder
    may_recut: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class MendResult:
    """``as_found`` = what is known for certain, proved as it stands; ``partly`` = doors of which
    some chambers are known. ``job`` = the mended one; None with a fault or a ``refusal``.
    """

    as_found: Job | None = None
    partly: tuple[Likeness, ...] = ()
    job: Job | None = None
    saved: Saved | None = None
    changes: tuple[Change, ...] = ()
    refusal: NotGrown | None = None
    findings: tuple[Finding, ...] = ()


def mend(order: MendOrder, progress: Progress | None = None) -> MendResult:
    """Read what was found, say what is wrong with it, find the least that mends it, write."""
    given = order.found
    inputs = read_inputs(given.chart, given.hardware, given.controls)
    found = [*inputs.findings, *check_target(given.out, given.passphrase)]
    chart, made = inputs.chart, inputs.key_format
    if chart is None or made is None:
        found += read_cuts(given.bittings, made, open_too=True).findings if made else ()
        return MendResult(findings=tuple(found))
    table = read_cuts(given.bittings, made, open_too=True)
    found += [*table.findings, *_strange(table, chart), *_unknown(order, chart)]
    pins: KnownPins | None = None
    if given.pinning is not None:
        field = read_pinning(given.pinning, chart, inputs.cylinder_formats)
        pins, found = field.doors, [*found, *field.findings]
    told_controls, unclear = read_controls(inputs, table, pins or {})
    found += unclear
    if has_fault(found):
        return MendResult(findings=tuple(found))
    controls = known_controls(given.bittings, table, told_controls, found)
    partial = _partial(table, inputs)
    known, remarks = _read_off(inputs, partial, pins or {})
    as_found = _as_found(order, inputs, known, controls, pins)
    found += [*remarks, *_unread(inputs, pins)]
    all_keys = not order.may_recut or ALL in order.may_recut
    allowed = frozenset(as_found.cuts() if all_keys else order.may_recut)
    answer = grow(
        as_found,
        chart,
        inputs.cylinder_formats,
        may_recut=allowed,
        given=[None if key.name in known else partial.get(key.name) for key in chart.keys],
        designer=lambda request: _ask(request, progress),
        progress=progress,
    )
    partly = _partly(as_found, inputs, pins or {})
    if isinstance(answer, NotGrown):
        return MendResult(as_found=as_found, partly=partly, refusal=answer, findings=tuple(found))
    mended, said = made_job(as_found, answer, inputs)
    found += said
    what = _plan(changes(as_found, mended), mended, partial, pins or {})
    result = MendResult(
        as_found=as_found, partly=partly, job=mended, changes=what, findings=tuple(found)
    )
    return _written(order, result)


def _written(order: MendOrder, result: MendResult) -> MendResult:
    """The mended job on disk; what was found is kept as the revision before where it is whole."""
    given, as_found, mended = order.found, result.as_found, result.job
    if as_found is None or mended is None:
        raise ValueError("nothing to write")
    if as_found.revision:
        first = save(as_found, given.out, given.passphrase)
        if has_fault(first.findings) or first.job is None:
            return replace(result, job=None, findings=(*result.findings, *first.findings))
    saved = save(mended, given.out, given.passphrase, changes_csv(result.changes))
    return replace(result, job=saved.job, saved=saved, findings=(*result.findings, *saved.findings))


def _ask(request: DesignRequest, progress: Progress | None) -> DesignOutcome:
    return design(request, progress)


def _strange(table: CutTable, chart: AccessChart) -> list[Finding]:
    wanted = {key.name for key in chart.keys}
    places = {name: row.place for name, row in table.rows.items()}
    places |= {name: row.place for name, row in table.open.items()}
    return [
        fault("cuts-key-unknown", place, key=name)
        for name, place in places.items()
        if name not in wanted and not is_control(name)
    ]


def _unknown(order: MendOrder, chart: AccessChart) -> list[Finding]:
    known = {key.name for key in chart.keys}
    return [
        fault("growth-recut-unknown", key=name)
        for name in order.may_recut
        if name != ALL and name not in known
    ]


def _partial(table: CutTable, inputs: Inputs) -> dict[str, PartialBitting]:
    """What is told of each key's cuts, by the table or, where that is silent, by the chart."""
    found: dict[str, PartialBitting] = {name: row.levels for name, row in table.rows.items()}
    found |= {name: row.levels for name, row in table.open.items()}
    if inputs.chart is not None:
        for key, given in zip(inputs.chart.keys, inputs.fixed, strict=True):
            if given is not None:
                mine = found.get(key.name, (None,) * len(given))
                found[key.name] = tuple(
                    b if a is None else a for a, b in zip(mine, given, strict=True)
                )
    return found


def _read_off(
    inputs: Inputs, partial: Mapping[str, PartialBitting], pins: KnownPins
) -> tuple[dict[str, Bitting], list[Finding]]:
    """Keys with every cut known, unknown ones read off the pins where these leave one depth."""
    chart, made = inputs.chart, inputs.key_format
    if chart is None or made is None:
        raise ValueError("nothing to read")
    known: dict[str, Bitting] = {}
    for key in chart.keys:
        whole = _whole(partial.get(key.name, ()))
        if len(whole) == made.chambers:
            known[key.name] = whole
    found: list[Finding] = []
    for k, key in enumerate(chart.keys):
        if key.name in known:
            continue
        told_of = partial.get(key.name, (None,) * made.chambers)
        doors = [d for d, row in enumerate(chart.openers) if k in row]
        read = _whole(_lines(inputs, told_of, doors, pins))
        unread = sum(level is None for level in told_of)
        if len(read) == made.chambers and read not in known.values():
            known[key.name] = read
            found.append(caution("mend-read-off", key=key.name, cuts=unread))
        elif key.name in partial:
            found.append(caution("mend-key-open", key=key.name, cuts=unread))
        else:
            found.append(caution("mend-key-missing", key=key.name))
    return known, found


def _lines(
    inputs: Inputs, told_of: PartialBitting, doors: Sequence[int], pins: KnownPins
) -> PartialBitting:
    """The cuts as told, and where they are not, the one depth that all doors of the key hold."""
    chart, made = inputs.chart, inputs.key_format
    if chart is None or made is None:
        raise ValueError("nothing to read")
    held: list[set[int] | None] = [None] * made.chambers
    for d in doors:
        positions = chamber_positions(made, inputs.cylinder_formats[d]) or ()
        for chamber, stack in pins.get(chart.doors[d].name, {}).items():
            if stack is not None:
                p = positions[chamber]
                before, here = held[p], set(stack.cuts())
                held[p] = here if before is None else before & here
    return tuple(
        level if level is not None else _only(lines)
        for level, lines in zip(told_of, held, strict=True)
    )


def _only(lines: set[int] | None) -> int | None:
    return next(iter(lines)) if lines and len(lines) == 1 else None


def _whole(cuts: PartialBitting) -> Bitting:
    return tuple(level for level in cuts if level is not None)


def _unread(inputs: Inputs, pins: KnownPins | None) -> list[Finding]:
    """Doors and chambers that a table of pins does not tell."""
    if pins is None or inputs.chart is None:
        return []
    found: list[Finding] = []
    for door, made in zip(inputs.chart.doors, inputs.cylinder_formats, strict=True):
        unread = [str(c + 1) for c in range(made.chambers) if c not in pins.get(door.name, ())]
        if unread and door.name in pins:
            text = ", ".join(unread)
            found.append(caution("mend-chambers-open", door=door.name, chambers=text))
    absent = [door.name for door in inputs.chart.doors if door.name not in pins]
    if absent:
        found.append(caution("mend-doors-open", doors=len(absent), door=absent[0]))
    return found


def _as_found(
    order: MendOrder,
    inputs: Inputs,
    known: Mapping[str, Bitting],
    controls: tuple[ControlKey, ...],
    pins: KnownPins | None,
) -> Job:
    """The job of what is known for certain, proved. Without a table of pins every door is taken as
    pinned for its keys, if these are known. Revision 0 = it is not the whole chart.
    """
    chart = inputs.chart
    if chart is None:
        raise ValueError("nothing to prove")
    opens = chart.opens()
    pairs = [
        (door, made)
        for door, made in zip(chart.doors, inputs.cylinder_formats, strict=True)
        if _is_known(door.name, made.chambers, opens[door.name], known, pins)
    ]
    part = AccessChart.build(
        [door for door, _ in pairs],
        [key for key in chart.keys if key.name in known],
        {door.name: [name for name in opens[door.name] if name in known] for door, _ in pairs},
        chart.blanks,
    )
    bittings = tuple(known[key.name] for key in part.keys)
    if pins is None:
        secure = order.found.security_drivers
        formats = [made for _, made in pairs]
        cylinders = pin_job(
            part, inputs.formats[0], formats, bittings, controls, secure=secure
        ).cylinders
    else:
        cylinders = tuple(
            PinnedCylinder(
                door=door.name, chambers=tuple(pins[door.name][c] for c in range(made.chambers))
            )
            for door, made in pairs
        )
    whole = (len(part.doors), len(part.keys)) == (len(chart.doors), len(chart.keys))
    return Job(
        name=order.found.name or order.found.chart.path.stem,
        revision=int(whole),
        chart=part,
        formats=inputs.formats,
        bittings=bittings,
        controls=controls,
        pinning=cylinders,
        proof=judge(part, inputs.formats, bittings, controls, cylinders),
    )


def _is_known(
    door: str,
    chambers: int,
    openers: Sequence[str],
    known: Mapping[str, Bitting],
    pins: KnownPins | None,
) -> bool:
    if pins is None:
        return all(name in known for name in openers)
    return len(pins.get(door, ())) == chambers


def _partly(as_found: Job, inputs: Inputs, pins: KnownPins) -> tuple[Likeness, ...]:
    """Doors of which some chambers are known, held against the keys that are: whoever is kept out
    there is kept out for certain.
    """
    chart = inputs.chart
    if chart is None:
        return ()
    known = as_found.cuts()
    opens = chart.opens()
    found = []
    for door, made in zip(chart.doors, inputs.cylinder_formats, strict=True):
        chambers = pins.get(door.name)
        if not chambers or door.name in as_found.chart.door_index():
            continue
        alone = AccessChart.build(
            [door],
            as_found.chart.keys,
            {door.name: [name for name in opens[door.name] if name in known]},
            chart.blanks,
        )
        nothing = PinnedCylinder(door=door.name, chambers=(None,) * made.chambers)
        job = replace(as_found, chart=alone, pinning=(nothing,))
        found.append(likeness(job, door.name, chambers))
    return tuple(found)


def _plan(
    found: Sequence[Change], mended: Job, partial: Mapping[str, PartialBitting], pins: KnownPins
) -> tuple[Change, ...]:
    """The changes, with what was known in part of keys and doors that are to be read or made."""
    made = mended.key_format
    formats = {door.name: mended.format_of(d) for d, door in enumerate(mended.chart.doors)}
    new_pins = {one.door: one.chambers for one in mended.pinning}
    plan = []
    for one in found:
        if one.what == "cut" and one.name in partial:
            before = " ".join(
                "?" if level is None else made.depths[level].stamped for level in partial[one.name]
            )
            plan.append(replace(one, what="read or cut", before=before))
        elif one.what == "pin" and pins.get(one.name):
            chambers, cylinder = pins[one.name], formats[one.name]
            before = " ".join(
                told(cylinder, chambers[c]) if c in chambers else "?"
                for c in range(cylinder.chambers)
            )
            right = all(_alike(stack, new_pins[one.name][c]) for c, stack in chambers.items())
            plan.append(replace(one, what="read or re-pin" if right else "re-pin", before=before))
        elif one.what == "pin" and pins:
            plan.append(replace(one, what="read or re-pin"))
        else:
            plan.append(one)
    return tuple(plan)


def _alike(one: PinStack | None, other: PinStack | None) -> bool:
    if one is None or other is None:
        return one is other
    return (one.bottom, one.masters, one.buildup) == (other.bottom, other.masters, other.buildup)
