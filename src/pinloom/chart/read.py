"""From files to an access chart and findings. The recipe; each step is a module of its own."""

from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path

from pinloom.chart.blanks import read_blanks
from pinloom.chart.checks import check, check_not_master_keyed
from pinloom.chart.doors import DOOR_COLUMNS
from pinloom.chart.files import read_book
from pinloom.chart.gathered import Gathered
from pinloom.chart.keys import KEY_COLUMNS, KeyLine, check_columns, read_keys
from pinloom.chart.matrix import read_matrix
from pinloom.chart.raw import Book, Sheet, named
from pinloom.chart.schedule import read_schedule
from pinloom.chart.symbolform import read_symbols
from pinloom.chart.table import Table, open_table
from pinloom.core.chart import AccessChart, Blank, Door, Key
from pinloom.core.findings import Finding, Place, fault, has_fault

DOORS, KEYS, KEYWAYS = "doors", "keys", "keyways"  # names of sheets


@dataclass(frozen=True, slots=True, kw_only=True)
class ChartRead:
    """The chart, or None when the findings hold a fault. ``doors`` and ``keys`` as far as they
    could be read, also then: what they say of hardware and cuts can be looked at in the same go.
    """

    chart: AccessChart | None
    findings: tuple[Finding, ...]
    doors: tuple[Door, ...] = ()
    keys: tuple[Key, ...] = ()


def read_chart(
    path: str | Path,
    keys: str | Path | None = None,
    *,
    sheet: str | None = None,
    symbols: bool = False,
    keyways: str | Path | None = None,
) -> ChartRead:
    """Read an access chart from CSV or XLSX, in matrix, schedule or symbol form.

    The form is told by the heads: with a column ``keys`` it is a schedule, and with ``symbols`` its
    symbols follow the trade's standard key coding; otherwise it is a matrix. ``keys`` and
    ``keyways`` are further files; in a workbook the sheets of these names serve without. Never
    raises on bad input: every fault of the files is a finding, all at once.
    """
    found: list[Finding] = []
    sources = _open(Path(path), _path(keys), _path(keyways), sheet, found)
    chart = _gather(sources, symbols=symbols, found=found)
    doors = chart.doors.values() if chart else ()
    entered = {door.keyway for door in doors if door.keyway}
    blanks = read_blanks(sources.keyways, entered, found) if sources.keyways else ()
    if chart is None:
        return ChartRead(chart=None, findings=tuple(found))
    check(chart, blanks, found)
    built = None if has_fault(found) else _build(chart, blanks)
    return ChartRead(
        chart=built,
        findings=tuple(found),
        doors=tuple(chart.doors.values()),
        keys=tuple(chart.keys.values()),
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class _Sources:
    doors: Sheet | None
    keys: Sheet | None
    keys_asked: bool  # by name, so that their absence has been told
    keyways: Sheet | None


def _path(path: str | Path | None) -> Path | None:
    return None if path is None else Path(path)


def _open(
    path: Path, keys: Path | None, keyways: Path | None, sheet: str | None, found: list[Finding]
) -> _Sources:
    def main(titles: tuple[str, ...]) -> Iterable[str]:
        whole = named(titles, DOORS) and named(titles, KEYS)
        doors = named(titles, sheet) if sheet else named(titles, DOORS) if whole else titles[0]
        others = [named(titles, KEYS), named(titles, KEYWAYS)]
        return [title for title in (doors, *others) if title is not None]

    book = read_book(path, main)
    found += book.findings
    doors = _doors_sheet(book, sheet, found)
    return _Sources(
        doors=doors,
        keys_asked=keys is not None,
        keys=_side(keys, KEYS, found) if keys else _other(book, KEYS, doors),
        keyways=_side(keyways, KEYWAYS, found) if keyways else _other(book, KEYWAYS, doors),
    )


def _doors_sheet(book: Book, sheet: str | None, found: list[Finding]) -> Sheet | None:
    if not book.titles:
        return None
    if sheet is None:
        whole = named(book.titles, DOORS) and named(book.titles, KEYS)
        title = named(book.titles, DOORS) if whole else book.titles[0]
    else:
        title = named(book.titles, sheet)
        if title is None:
            names = ", ".join(name or "(none, a CSV file)" for name in book.titles)
            place = Place(file=book.file)
            found.append(fault("chart-sheet-missing", place, sheet=sheet, sheets=names))
    return next((one for one in book.sheets if one.name == title), None)


def _side(path: Path, name: str, found: list[Finding]) -> Sheet | None:
    """The sheet of that name in a file of its own, or else the file's first."""
    book = read_book(path, lambda titles: [named(titles, name) or titles[0]])
    found += book.findings
    return book.sheets[0] if book.sheets else None


def _other(book: Book, name: str, doors: Sheet | None) -> Sheet | None:
    title = named(book.titles, name)
    if title is None or (doors is not None and doors.name == title):
        return None
    return next((one for one in book.sheets if one.name == title), None)


def _gather(sources: _Sources, *, symbols: bool, found: list[Finding]) -> Gathered | None:
    lines: dict[str, KeyLine] | None = {} if sources.keys_asked else None
    if sources.keys is not None:
        lines = read_keys(open_table(sources.keys, KEY_COLUMNS), found)
    if sources.doors is None:
        return None
    known = DOOR_COLUMNS | {"door", "keys"} | ({"operated by"} if symbols else set())
    table = open_table(sources.doors, known)
    found += table.findings
    if "door" not in table.known:
        if table.rows:
            found.append(fault("chart-column-missing", table.head_place(), head="door"))
        return None
    return _read_form(table, lines, symbols=symbols, found=found)


def _read_form(
    table: Table, lines: dict[str, KeyLine] | None, *, symbols: bool, found: list[Finding]
) -> Gathered | None:
    if "keys" not in table.known:
        if symbols:
            found.append(fault("chart-column-missing", table.head_place(), head="keys"))
            return None
        chart = read_matrix(table, lines or None, found)
        check_not_master_keyed(chart, found)
        return chart
    known = DOOR_COLUMNS | {"door", "keys"} | ({"operated by"} if symbols else set())
    check_columns(table, known, found)
    if lines == {}:
        return None  # told already; every key of every door would be unknown
    if symbols:
        return read_symbols(table, lines, found)
    if lines is None:
        found.append(fault("chart-keys-missing", table.head_place("keys")))
        return None
    return read_schedule(table, lines, found)


def _build(chart: Gathered, blanks: tuple[Blank, ...]) -> AccessChart:
    return AccessChart.build(chart.doors.values(), chart.keys.values(), chart.opens, blanks)
