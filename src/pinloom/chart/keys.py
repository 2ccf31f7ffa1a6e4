"""The table of keys: one row to one ``Key``, and the masters above it."""

import re
from dataclasses import dataclass

from pinloom.chart.cells import NameBook, is_refused, sign_fault, whole, yes_or_no
from pinloom.chart.raw import Row
from pinloom.chart.table import Table, nearest
from pinloom.core.chart import NMK, Key, KeyStanding
from pinloom.core.findings import Finding, Place, caution, fault
from pinloom.core.names import clean
from pinloom.core.room import MOST_FURTHER, MOST_PERCENT, RoomWish, read_wish

KEY_COLUMNS = frozenset({"key", "under", "copies", "reserved", "cuts", "blank", "note", "room"})
MOST_COPIES = 100_000
_PART = re.compile(r"0\.[0-9]+")
RETIRED = "retired"  # written back for a key that exists somewhere and shall open nothing


@dataclass(frozen=True, slots=True, kw_only=True)
class KeyLine:
    """A key with the place it was read from."""

    key: Key
    place: Place


def read_keys(table: Table, found: list[Finding]) -> dict[str, KeyLine]:
    """The keys of a table by name, in the order of the file; faults go to ``found``."""
    found += table.findings
    check_columns(table, KEY_COLUMNS, found)
    if "key" not in table.known:
        if table.rows:
            found.append(fault("chart-column-missing", table.head_place(), head="key"))
        return {}
    book = NameBook(twice="chart-key-twice")
    lines: dict[str, KeyLine] = {}
    for row in table.rows:
        name = _key_name(table, row, found)
        if name is not None and book.enter(name, table.place(row, "key"), found):
            lines[name] = KeyLine(key=_key(table, row, name, found), place=table.place(row, "key"))
    return lines


def check_columns(table: Table, known: frozenset[str], found: list[Finding]) -> None:
    """Say which heads are not known. One that is nearly a known head is a fault: dropping a
    misspelt ``except`` would let masters in.
    """
    for head in table.others:
        near = nearest(head, known)
        place = table.head_place(head)
        if near and near not in table.known:
            found.append(fault("chart-column-misspelt", place, head=head, near=near))
        else:
            found.append(caution("chart-column-unknown", place, head=head))


def key_name_fault(name: str, place: Place) -> Finding | None:
    """A fault when a key may not have this name."""
    if is_refused(name):
        return fault("chart-key-refused", place, name=name)
    if name == NMK:
        return fault("chart-key-nmk", place)
    return sign_fault(name, place)


def _key_name(table: Table, row: Row, found: list[Finding]) -> str | None:
    cell = table.cell(row, "key")
    if cell is None:
        return None
    name = clean(cell)
    place = table.place(row, "key")
    if not name:
        found.append(fault("chart-key-unnamed", place))
        return None
    wrong = key_name_fault(name, place)
    if wrong:
        found.append(wrong)
        return None
    return name


def _key(table: Table, row: Row, name: str, found: list[Finding]) -> Key:
    copies = table.cell(row, "copies")
    number = whole(copies, 0, MOST_COPIES) if copies else None
    if copies and number is None:
        place = table.place(row, "copies")
        found.append(
            fault("chart-number", place, text=copies, head="copies", low=0, high=MOST_COPIES)
        )
    return Key(
        name=name,
        under=clean(table.cell(row, "under") or ""),
        copies=number,
        standing=_standing(table, row, found),
        given=_given(table, row, found),
        blank=clean(table.cell(row, "blank") or ""),
        note=clean(table.cell(row, "note") or ""),
        room=_room(table, row, found),
    )


def _standing(table: Table, row: Row, found: list[Finding]) -> KeyStanding:
    text = table.cell(row, "reserved") or ""
    if text.strip().casefold() == RETIRED:
        return KeyStanding.RETIRED
    answer = yes_or_no(text)
    if answer is None:
        found.append(fault("chart-yes-no", table.place(row, "reserved"), text=text))
    return KeyStanding.RESERVED if answer else KeyStanding.ACTIVE


def _given(table: Table, row: Row, found: list[Finding]) -> str:
    text = clean(table.cell(row, "cuts") or "")
    column = table.known.get("cuts")
    if text and (row.number, column) in table.sheet.numeric:
        # A spreadsheet drops the zero in front of 012345 when the cell holds a number.
        found.append(caution("chart-cuts-number", table.place(row, "cuts"), cuts=text))
    return text


def _room(table: Table, row: Row, found: list[Finding]) -> RoomWish | None:
    text = (table.cell(row, "room") or "").strip()
    if not text:
        return None
    wish = read_wish(text)
    if (row.number, table.known["room"]) in table.sheet.numeric and _PART.fullmatch(text):
        # A spreadsheet holds 30% as the number 0.3.
        wish = RoomWish(number=round(100 * float(text)), percent=True)
    if wish is None:
        place = table.place(row, "room")
        found.append(
            fault("chart-room", place, text=text[:40], most=MOST_FURTHER, percent=MOST_PERCENT)
        )
    return wish
