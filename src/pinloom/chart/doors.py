"""The door columns that matrix and schedule share, one row to one ``Door``."""

from pinloom.chart.cells import sign_fault, whole
from pinloom.chart.raw import Cell, Row
from pinloom.chart.table import Table
from pinloom.core.chart import Door
from pinloom.core.findings import Finding, fault
from pinloom.core.names import clean

#: optional door columns of both forms
DOOR_COLUMNS = frozenset(
    {"opening", "cylinder", "hardware", "keyway", "count", "except", "unpinned", "core group"}
)
MOST_COUNT = 100_000  # identical cylinders in one row; more is a slip of the finger
MOST_CHAMBERS = 20  # no format comes near


def door_name(table: Table, row: Row, found: list[Finding]) -> str | None:
    """The door's name, or None, with a fault, where the row has no usable one."""
    cell = table.cell(row, "door")
    if cell is None:
        return None
    name = clean(cell)
    place = table.place(row, "door")
    if not name:
        found.append(fault("chart-door-unnamed", place))
        return None
    sign = sign_fault(name, place)
    if sign:
        found.append(sign)
        return None
    return name


def read_door(table: Table, row: Row, name: str, found: list[Finding]) -> Door:
    """The optional columns of one row. ``excepted`` is left to the form, which knows the keys."""

    def text(head: str) -> str:
        return clean(table.cell(row, head) or "")

    return Door(
        name=name,
        opening=text("opening"),
        cylinder=text("cylinder"),
        hardware=text("hardware"),
        keyway=text("keyway"),
        count=_count(table, row, found),
        unpinned=_unpinned(table, row, found),
        core_group=text("core group"),
    )


def _count(table: Table, row: Row, found: list[Finding]) -> int:
    cell: Cell = table.cell(row, "count")
    if not cell:
        return 1
    number = whole(cell, 1, MOST_COUNT)
    if number is None:
        place = table.place(row, "count")
        found.append(fault("chart-number", place, text=cell, head="count", low=1, high=MOST_COUNT))
        return 1
    return number


def _unpinned(table: Table, row: Row, found: list[Finding]) -> tuple[int, ...]:
    cell: Cell = table.cell(row, "unpinned")
    if not cell:
        return ()
    numbers = [whole(token, 1, MOST_CHAMBERS) for token in cell.replace(",", " ").split()]
    chambers = {number for number in numbers if number is not None}
    if None in numbers or len(chambers) != len(numbers):
        found.append(
            fault("chart-unpinned", table.place(row, "unpinned"), text=cell, high=MOST_CHAMBERS)
        )
        return ()
    return tuple(sorted(chambers))
