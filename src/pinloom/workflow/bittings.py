"""Reading a table of existing cuts: bittings.csv of a job folder, or one that a person wrote.

Cuts stand in the columns c1..cP as depth numbers, or in ``stamped``, or in both, which must agree.
They are taken as they are: what a shop would not cut (MACS) is said and kept. A cut that nobody
knows is ``?``; only who can do with such keys asks for them. No finding repeats a cut.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path

from pinloom.chart.files import read_book
from pinloom.chart.raw import Row
from pinloom.chart.table import Table, open_table
from pinloom.core.bitting import Bitting, PartialBitting, keeps_macs
from pinloom.core.chart import AccessChart
from pinloom.core.findings import Finding, Place, caution, fault, has_fault, note
from pinloom.core.hardware import HardwareFormat
from pinloom.core.job import ControlKey
from pinloom.core.names import clean
from pinloom.workflow.inputs import depths_of
from pinloom.workflow.jobtables import CONTROL, bitting_heads

UNKNOWN = "?"
_MOST_COLUMNS = 12  # no format has as many chambers; a thirteenth cut is a strange head


@dataclass(frozen=True, slots=True, kw_only=True)
class CutRow:
    """One row: a key or a control key with its cuts and where they stand."""

    name: str
    levels: Bitting
    place: Place


@dataclass(frozen=True, slots=True, kw_only=True)
class OpenRow:
    """A row with a cut that nobody knows (None)."""

    name: str
    levels: PartialBitting
    place: Place


@dataclass(frozen=True, slots=True, kw_only=True)
class CutTable:
    """All sound rows by name, in the order of the file, and what was found. ``open`` = rows with
    unknown cuts, where they were asked for; ``unsound`` = the names in rows whose cuts could not be
    read.
    """

    rows: Mapping[str, CutRow]
    open: Mapping[str, OpenRow] = field(default_factory=dict)
    unsound: frozenset[str] = frozenset()
    findings: tuple[Finding, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Cuts:
    """``bittings[k]`` = cuts of ``chart.keys[k]``; None with a fault."""

    bittings: tuple[Bitting, ...] | None
    controls: tuple[ControlKey, ...]
    findings: tuple[Finding, ...]


def read_cuts(path: Path, made: HardwareFormat, *, open_too: bool = False) -> CutTable:
    """The rows of a table of cuts. Rows with unknown cuts are at fault unless ``open_too``."""
    book = read_book(path, lambda titles: titles[:1])
    found = list(book.findings)
    if not book.sheets:
        return CutTable(rows={}, findings=tuple(found))
    cut_heads = [f"c{i + 1}" for i in range(_MOST_COLUMNS)]
    table = open_table(book.sheets[0], frozenset({"key", *cut_heads, "stamped"}))
    found += table.findings
    if not table.rows or not _has_heads(table, made, found):
        return CutTable(rows={}, findings=tuple(found))
    rows: dict[str, CutRow] = {}
    opened: dict[str, OpenRow] = {}
    unsound: set[str] = set()
    for row in table.rows:
        one = _row(table, row, made, found)
        if one is None:
            unsound.add(clean(table.cell(row, "key") or ""))
            continue
        first = rows.get(one.name) or opened.get(one.name)
        if first is not None:
            found.append(fault("cuts-key-twice", one.place, first.place, key=one.name))
        elif isinstance(one, CutRow):
            if not keeps_macs(one.levels, made.macs):
                found.append(caution("cuts-macs", one.place, key=one.name, macs=made.macs))
            rows[one.name] = one
        elif open_too:
            opened[one.name] = one
        else:
            found.append(fault("cuts-open", one.place, key=one.name))
            unsound.add(one.name)
    return CutTable(rows=rows, open=opened, unsound=frozenset(unsound), findings=tuple(found))


def cuts_for(
    path: Path,
    chart: AccessChart,
    made: HardwareFormat,
    fixed: Sequence[PartialBitting | None] = (),
    controls: Sequence[tuple[str, PartialBitting]] = (),
) -> Cuts:
    """The cuts of every key of a chart. ``fixed`` = cuts that the chart itself gives;
    ``controls`` = control cuts given elsewhere, which must be whole.
    """
    table = read_cuts(path, made)
    found = list(table.findings)
    keys = {name: row for name, row in table.rows.items() if not is_control(name)}
    wanted = {key.name for key in chart.keys}
    if table.rows:
        strange = [row for name, row in keys.items() if name not in wanted]
        found += [fault("cuts-key-unknown", row.place, key=row.name) for row in strange]
        told = keys.keys() | table.unsound
        missing = [key.name for key in chart.keys if key.name not in told]
        found += [fault("cuts-key-missing", Place(file=path.name), key=name) for name in missing]
    for key, given in zip(chart.keys, fixed, strict=False):
        row = keys.get(key.name)
        if row and given and not _agree(row.levels, given):
            found.append(fault("cuts-not-as-given", row.place, key=key.name))
    control_keys = known_controls(path, table, controls, found)
    return Cuts(
        bittings=None if has_fault(found) else tuple(keys[k.name].levels for k in chart.keys),
        controls=control_keys,
        findings=tuple(found),
    )


def is_control(name: str) -> bool:
    """Whether a row of bittings.csv is a core's control key."""
    return name.casefold() == CONTROL or name.casefold().startswith(f"{CONTROL}:")


def _has_heads(table: Table, made: HardwareFormat, found: list[Finding]) -> bool:
    wanted = bitting_heads(made)
    for head in table.others:
        found.append(note("cuts-column-unknown", table.head_place(head), head=head))
    numbers = [head for head in wanted[1:-1] if head in table.known]
    if "key" not in table.known:
        found.append(fault("cuts-column-missing", table.head_place(), head="key"))
        return False
    surplus = [head for head in table.known if head.startswith("c") and head not in wanted]
    for head in surplus:
        found.append(
            fault("cuts-too-many", table.head_place(head), chambers=made.chambers, format=made.name)
        )
    if not numbers and "stamped" not in table.known:
        found.append(fault("cuts-column-missing", table.head_place(), head="c1"))
        return False
    if numbers:
        for head in wanted[1:-1]:
            if head not in table.known:
                found.append(fault("cuts-column-missing", table.head_place(), head=head))
    return not surplus and len(numbers) in (0, made.chambers)


def _row(
    table: Table, row: Row, made: HardwareFormat, found: list[Finding]
) -> CutRow | OpenRow | None:
    name = clean(table.cell(row, "key") or "")
    place = table.place(row, "key")
    if not name:
        found.append(fault("cuts-no-key", place))
        return None
    if is_control(name):
        name = CONTROL + name[len(CONTROL) :]
    before = len(found)
    numbers = _numbers(table, row, made, found)
    stamped = _stamped(table, row, name, made, found)
    if len(found) > before:
        return None
    if numbers and stamped and not _match(numbers, stamped):
        found.append(fault("cuts-stamp-differs", table.place(row, "stamped"), key=name))
        return None
    if not numbers and not stamped:
        found.append(fault("cuts-none", place, key=name))
        return None
    cuts = _joined(numbers or (), stamped or ())
    levels = tuple(level for level in cuts if level is not None)
    if len(levels) < len(cuts):
        return OpenRow(name=name, levels=cuts, place=place)
    return CutRow(name=name, levels=levels, place=place)


def _numbers(
    table: Table, row: Row, made: HardwareFormat, found: list[Finding]
) -> PartialBitting | None:
    """The cuts in the numbered columns; None where all are empty or with a fault."""
    heads = [head for head in bitting_heads(made)[1:-1] if head in table.known]
    cells = [table.cell(row, head) or "" for head in heads]
    if not any(cells):
        return None
    levels: list[int | None] = []
    for head, cell in zip(heads, cells, strict=True):
        if cell == UNKNOWN:
            levels.append(None)
            continue
        level = made.level_of(int(cell)) if cell.isascii() and cell.isdecimal() else None
        if level is None:
            place = table.place(row, head)
            found.append(
                fault("cuts-no-such-depth", place, depths=depths_of(made), format=made.name)
            )
        else:
            levels.append(level)
    return tuple(levels) if len(levels) == len(heads) else None


def _stamped(
    table: Table, row: Row, name: str, made: HardwareFormat, found: list[Finding]
) -> PartialBitting | None:
    """The cuts in the column of stamped texts; None where it is empty or with a fault."""
    text = table.cell(row, "stamped")
    if not text:
        return None
    levels = made.read_cuts(text)
    if levels is None:
        found.append(fault("cuts-stamp-unreadable", table.place(row, "stamped"), key=name))
        return None
    return levels


def known_controls(
    path: Path,
    table: CutTable,
    given: Iterable[tuple[str, PartialBitting]],
    found: list[Finding],
) -> tuple[ControlKey, ...]:
    """The control keys of a table and those given elsewhere, which must be whole and agree."""
    controls = {
        name.partition(":")[2].strip(): row for name, row in table.rows.items() if is_control(name)
    }
    levels = {group: row.levels for group, row in controls.items()}
    for group, cuts in given:
        name = f"{CONTROL}:{group}" if group else CONTROL
        whole = tuple(level for level in cuts if level is not None)
        if len(whole) != len(cuts):
            found.append(fault("cuts-control-open", Place(file=path.name), key=name))
        elif group in levels and levels[group] != whole:
            found.append(fault("cuts-not-as-given", controls[group].place, key=name))
        else:
            levels[group] = whole
    return tuple(ControlKey(group=group, levels=levels[group]) for group in sorted(levels))


def _match(one: PartialBitting, other: PartialBitting) -> bool:
    return all(a == b or a is None or b is None for a, b in zip(one, other, strict=True))


def _joined(one: PartialBitting, other: PartialBitting) -> PartialBitting:
    """What either of two tells, if the other tells the same or nothing."""
    if not one or not other:
        return one or other
    return tuple(b if a is None else a for a, b in zip(one, other, strict=True))


def _agree(levels: Bitting, given: PartialBitting) -> bool:
    return all(b is None or a == b for a, b in zip(levels, given, strict=True))
