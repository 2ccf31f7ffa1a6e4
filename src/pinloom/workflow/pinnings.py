"""Reading a table of pins found in the field: pinning.csv of a job folder, or one written by hand.

It may be incomplete. A door without rows is pinned by the program; so is a chamber without a row or
with ``?`` for its pins, which is said; a missing driver label is filled in from the format. Pins
are taken as they are: whether they can be is for the proof.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from pinloom.chart.files import read_book
from pinloom.chart.raw import Row, Sheet
from pinloom.chart.table import Table, open_table
from pinloom.core.chart import AccessChart
from pinloom.core.findings import Finding, Place, caution, fault, note
from pinloom.core.hardware import HardwareFormat
from pinloom.core.names import clean
from pinloom.core.stacks import PinnedCylinder, PinStack
from pinloom.pinning import with_driver
from pinloom.workflow.inputs import depths_of
from pinloom.workflow.jobtables import PINNING_HEADS

UNKNOWN = "?"
Chambers = dict[int, PinStack | None]  # chamber from 0 -> pins; None = without pins


@dataclass(frozen=True, slots=True, kw_only=True)
class FieldPinning:
    """Door name -> what was found in its chambers, and where the door first stands."""

    doors: Mapping[str, Chambers]
    places: Mapping[str, Place]
    findings: tuple[Finding, ...]


def read_pinning(
    path: Path,
    chart: AccessChart,
    formats: Sequence[HardwareFormat],
    *,
    stranger: HardwareFormat | None = None,
) -> FieldPinning:
    """The table of pins. ``formats[d]`` = format of ``chart.doors[d]``.

    With ``stranger`` doors may have any name, unknown ones being of that format, and a driver that
    the table does not tell stays untold.
    """
    book = read_book(path, lambda titles: titles[:1])
    found = list(book.findings)
    doors: dict[str, Chambers] = {}
    places: dict[tuple[str, int], Place] = {}
    table = _table(book.sheets[0], found) if book.sheets else None
    by_name = {door.name: made for door, made in zip(chart.doors, formats, strict=True)}
    if table is None:
        return FieldPinning(doors={}, places={}, findings=tuple(found))
    for row in table.rows:
        cell = _cell(table, row, by_name, found, stranger)
        if cell is None:
            continue
        name, chamber = cell
        place = table.place(row, "chamber")
        if (name, chamber) in places:
            first = places[name, chamber]
            found.append(fault("pins-chamber-twice", place, first, door=name, chamber=chamber + 1))
            continue
        places[name, chamber] = place
        made = by_name.get(name, stranger or formats[0])
        known = doors.setdefault(name, {})
        if UNKNOWN in (table.cell(row, "bottom") or "") + (table.cell(row, "masters") or ""):
            continue
        known[chamber] = _stack(table, row, made, chamber, found, fill=stranger is None)
    firsts = {name: place for (name, _), place in reversed(places.items())}
    return FieldPinning(doors=doors, places=firsts, findings=tuple(found))


def fill(
    field: FieldPinning,
    computed: Sequence[PinnedCylinder],
    formats: Sequence[HardwareFormat],
) -> tuple[tuple[PinnedCylinder, ...], tuple[Finding, ...]]:
    """The field's pins, with what it does not tell taken from the computed ones, and said."""
    cylinders: list[PinnedCylinder] = []
    found: list[Finding] = []
    absent = [one.door for one in computed if one.door not in field.doors]
    if absent and field.doors:
        found.append(note("pins-doors-computed", doors=len(absent), door=absent[0]))
    for cylinder, made in zip(computed, formats, strict=True):
        known = field.doors.get(cylinder.door)
        if known is None:
            cylinders.append(cylinder)
            continue
        missing = [str(c + 1) for c in range(made.chambers) if c not in known]
        if missing:
            place = field.places[cylinder.door]
            found.append(
                caution(
                    "pins-chambers-computed",
                    place,
                    door=cylinder.door,
                    chambers=", ".join(missing),
                )
            )
        cylinders.append(
            replace(
                cylinder,
                chambers=tuple(
                    known.get(chamber, stack) for chamber, stack in enumerate(cylinder.chambers)
                ),
            )
        )
    return tuple(cylinders), tuple(found)


def _table(sheet: Sheet, found: list[Finding]) -> Table | None:
    table = open_table(sheet, frozenset(PINNING_HEADS))
    found += table.findings
    for head in table.others:
        found.append(note("cuts-column-unknown", table.head_place(head), head=head))
    missing = [h for h in PINNING_HEADS[:4] if h not in table.known]
    if table.rows:
        found += [fault("cuts-column-missing", table.head_place(), head=h) for h in missing]
    return None if missing else table


def _cell(
    table: Table,
    row: Row,
    formats: Mapping[str, HardwareFormat],
    found: list[Finding],
    stranger: HardwareFormat | None,
) -> tuple[str, int] | None:
    """Door and chamber (from 0) of a row."""
    name = clean(table.cell(row, "door") or "")
    made = formats.get(name, stranger)
    if made is None:
        found.append(fault("pins-door-unknown", table.place(row, "door"), door=name or "(none)"))
        return None
    chamber = _whole(table.cell(row, "chamber") or "")
    if chamber is None or not 1 <= chamber <= made.chambers:
        place = table.place(row, "chamber")
        found.append(fault("pins-no-such-chamber", place, door=name, chambers=made.chambers))
        return None
    return name, chamber - 1


def _stack(
    table: Table,
    row: Row,
    made: HardwareFormat,
    chamber: int,
    found: list[Finding],
    *,
    fill: bool = True,
) -> PinStack | None:
    bottom, masters, buildup, driver = (table.cell(row, head) or "" for head in PINNING_HEADS[2:])
    if not (bottom or masters or buildup or driver):
        return None
    number = _whole(bottom)
    level = None if number is None else made.level_of(number)
    sizes = [_whole(text) for text in masters.replace(",", " ").split()]
    extra = _whole(buildup) if buildup else None
    if level is None:
        place = table.place(row, "bottom")
        found.append(fault("pins-no-such-bottom", place, depths=depths_of(made), format=made.name))
    if None in sizes or 0 in sizes:
        found.append(fault("pins-bad-steps", table.place(row, "masters")))
    if buildup and not extra:
        found.append(fault("pins-bad-steps", table.place(row, "buildup")))
    if level is None:
        return None
    stack = PinStack(
        bottom=level,
        masters=tuple(size for size in sizes if size),
        buildup=extra,
        driver=driver,
    )
    return stack if driver or not fill else with_driver(made, chamber, stack)


def _whole(text: str) -> int | None:
    text = text.strip()
    return int(text) if text.isascii() and text.isdecimal() and len(text) < 6 else None
