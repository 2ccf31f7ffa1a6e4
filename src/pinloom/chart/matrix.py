"""The matrix form: one row a door, one column a key, a filled cell opens.

The interface says that any filled cell opens. That rule is kept for ``no`` and ``-`` too, but a
cell that does not look like a mark is said aloud, because whoever wrote ``-`` meant the opposite.
"""

from collections.abc import Mapping
from dataclasses import dataclass, replace

from pinloom.chart.cells import NameBook, split_names
from pinloom.chart.checks import listed
from pinloom.chart.doors import DOOR_COLUMNS, door_name, read_door
from pinloom.chart.gathered import Gathered
from pinloom.chart.hierarchy import Tree, check_masters
from pinloom.chart.keys import KeyLine, key_name_fault
from pinloom.chart.raw import Row
from pinloom.chart.table import Table, at, nearest
from pinloom.core.chart import NMK, Door, Key
from pinloom.core.findings import Finding, caution, fault, note
from pinloom.core.names import natural

_MARKS = frozenset({"x", "1", "y", "yes", "true", "+", "*", "•", "●", "✓", "✔", "✗", "✘", "×"})


def read_matrix(
    table: Table, lines: Mapping[str, KeyLine] | None, found: list[Finding]
) -> Gathered:
    """Doors, keys and marks of a matrix. ``lines`` = keys of a key table, when there is one: they
    add what the columns cannot say (copies, cuts, ...); a key without a column opens nothing.
    """
    chart = Gathered()
    columns = _key_columns(table, lines, chart, found)
    if not table.others and table.rows:
        found.append(fault("chart-no-keys", table.head_place()))
    if not table.rows:
        chart.doubtful_keys |= columns.keys()
    book = NameBook(twice="chart-door-twice")
    marks = _Columns(
        heads={index: head for head, index in columns.items()},
        refused=frozenset(i for head, i in table.others.items() if head not in columns),
    )
    for row in table.rows:
        _read_row(table, row, marks, chart, book, found)
    _check_marks(table, columns, found)
    if lines is not None:
        _check_masters(lines, chart, found)
    return chart


def _key_columns(
    table: Table, lines: Mapping[str, KeyLine] | None, chart: Gathered, found: list[Finding]
) -> dict[str, int]:
    columns: dict[str, int] = {}
    for head in table.remarks:
        found.append(note("chart-column-remark", table.head_place(head), head=head))
    for head, index in table.others.items():
        place = table.head_place(head)
        wrong = key_name_fault(head, place)
        if wrong:
            found.append(wrong)
            continue
        near = nearest(head, DOOR_COLUMNS)
        if near and near not in table.known:
            found.append(caution("chart-key-like-column", place, head=head, near=near))
        columns[head] = index
        if lines is not None and head not in lines:
            found.append(fault("chart-key-unlisted", place, key=head))
        chart.add_key(lines[head].key if lines and head in lines else Key(name=head), place)
    for name, line in (lines or {}).items():
        if name not in columns:
            chart.add_key(line.key, line.place)
    return columns


@dataclass(frozen=True, slots=True, kw_only=True)
class _Columns:
    """The keys' heads by column, and the columns whose heads no key may have."""

    heads: Mapping[int, str]
    refused: frozenset[int]


def _read_row(
    table: Table,
    row: Row,
    marks: _Columns,
    chart: Gathered,
    book: NameBook,
    found: list[Finding],
) -> None:
    heads = marks.heads
    opened = {heads[index] for index, cell in row.filled.items() if cell and index in heads}
    unreadable = {
        heads[index] for index, cell in row.filled.items() if cell is None and index in heads
    }
    chart.doubtful_keys |= unreadable
    name = door_name(table, row, found)
    if name is None or not book.enter(name, table.place(row, "door"), found):
        chart.doubtful_keys |= opened  # their door is gone with its row
        return
    refused = any(at(row, index) for index in marks.refused)
    if unreadable or refused or not heads:
        chart.doubtful_doors.add(name)
    door = read_door(table, row, name, found)
    excepted = _excepted(table, row, door, opened, heads, found)
    if excepted:
        door = replace(door, excepted=excepted)
    chart.add_door(door, table.place(row, "door"), opened)


def _excepted(
    table: Table,
    row: Row,
    door: Door,
    opened: set[str],
    heads: Mapping[int, str],
    found: list[Finding],
) -> tuple[str, ...]:
    """The masters named in ``except``; the marks must agree with them."""
    cell = table.cell(row, "except")
    if not cell:
        return ()
    columns = set(heads.values())
    names = split_names(cell, columns)
    place = table.place(row, "except")
    for name in names:
        if name == NMK:
            continue
        if name not in columns:
            found.append(fault("chart-except-unknown", place, door=door.name, key=name))
        elif name in opened:
            found.append(fault("chart-except-listed", place, door=door.name, key=name))
    return tuple(names)


def _check_marks(table: Table, columns: dict[str, int], found: list[Finding]) -> None:
    heads = {index: head for head, index in columns.items()}
    odd: dict[int, list[tuple[Row, str]]] = {}
    for row in table.rows:
        for index, cell in row.filled.items():
            if not cell or cell in _MARKS or index not in heads:
                continue
            if cell.casefold() not in _MARKS and cell != heads[index]:
                odd.setdefault(index, []).append((row, cell))
    for head, index in columns.items():
        if index in odd:
            row, text = odd[index][0]
            place, cells = table.place(row, head), len(odd[index])
            found.append(caution("chart-mark-odd", place, key=head, text=text[:40], cells=cells))


def _check_masters(lines: Mapping[str, KeyLine], chart: Gathered, found: list[Finding]) -> None:
    """Where a table of keys names masters, the marks should agree; they count in any case."""
    tree = Tree(chart.keys.values(), check_masters(lines, found))
    unmarked: dict[str, list[str]] = {}
    for name, opened in chart.opens.items():
        excepted = set(chart.doors[name].excepted)
        if NMK not in excepted:
            for master in tree.implied(opened) - opened - excepted:
                unmarked.setdefault(master, []).append(name)
    for master in sorted(unmarked, key=natural):
        doors = listed(sorted(unmarked[master], key=natural))
        place = chart.key_places[master]
        found.append(caution("chart-master-unmarked", place, master=master, doors=doors))
