"""Control keys of cores that exist, with cuts that nobody told read off the pins.

A core whose control key is cut at a level there has its build-up pin by it: build-up = control +
offset - plug total. So every core tells the control cut of each of its control chambers. In the
other chambers of a large-format core the control key turns the plug's own line, as a key of the
core does. Where all cores of a group leave one depth, that is the cut.
"""

from collections.abc import Mapping

from pinloom.core.bitting import PartialBitting
from pinloom.core.findings import Finding, Place, caution, fault
from pinloom.core.fitting import chamber_positions
from pinloom.pinning import control_name, decode
from pinloom.workflow.bittings import CutRow, CutTable, OpenRow, is_control
from pinloom.workflow.inputs import Inputs
from pinloom.workflow.pinnings import Chambers

Told = tuple[tuple[str, PartialBitting], ...]  # by core group


def read_controls(
    inputs: Inputs, table: CutTable, pins: Mapping[str, Chambers]
) -> tuple[Told, list[Finding]]:
    """Control cuts by core group, from the table and those given elsewhere, whole; a fault for each
    that the pins do not complete.
    """
    rows: list[CutRow | OpenRow] = [*table.rows.values(), *table.open.values()]
    written = {row.name.partition(":")[2].strip(): row for row in rows if is_control(row.name)}
    told: dict[str, PartialBitting] = {group: row.levels for group, row in written.items()}
    found: list[Finding] = []
    for group, cuts in inputs.controls:
        mine = told.get(group, cuts)
        if not _agree(mine, cuts):
            found.append(fault("cuts-not-as-given", written[group].place, key=control_name(group)))
        told[group] = tuple(b if a is None else a for a, b in zip(mine, cuts, strict=True))
    whole: dict[str, PartialBitting] = {}
    for group, cuts in sorted(told.items()):
        unread = sum(level is None for level in cuts)
        only = None if list(told) == [""] else group  # a job's only key serves every core
        whole[group] = _completed(inputs, only, cuts, pins) if unread else cuts
        left = [str(p + 1) for p, level in enumerate(whole[group]) if level is None]
        if left:
            place = written[group].place if group in written else Place()
            text = ", ".join(left)
            found.append(fault("mend-control-open", place, key=control_name(group), cuts=text))
        elif unread:
            found.append(caution("mend-control-read", key=control_name(group), cuts=unread))
    return tuple(whole.items()), found


def _agree(one: PartialBitting, other: PartialBitting) -> bool:
    return all(a == b or a is None or b is None for a, b in zip(one, other, strict=True))


def _completed(
    inputs: Inputs, group: str | None, cuts: PartialBitting, pins: Mapping[str, Chambers]
) -> PartialBitting:
    """The cuts with the one depth that all cores of the group leave; None = all cores."""
    chart, made = inputs.chart, inputs.key_format
    if chart is None or made is None:
        raise ValueError("nothing to read")
    held: list[set[int] | None] = [None] * made.chambers
    for door, cylinder in zip(chart.doors, inputs.cylinder_formats, strict=True):
        if cylinder.core is None or group not in (None, door.core_group):
            continue
        positions = chamber_positions(made, cylinder) or ()
        for chamber, stack in pins.get(door.name, {}).items():
            if stack is None:
                continue
            lines = decode(cylinder, chamber, stack)
            here = set(lines.cuts) if lines.control is None else {lines.control}
            before = held[positions[chamber]]
            held[positions[chamber]] = here if before is None else before & here
    return tuple(
        next(iter(lines)) if level is None and lines and len(lines) == 1 else level
        for level, lines in zip(cuts, held, strict=True)
    )
