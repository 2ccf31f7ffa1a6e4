"""Tables in files: CSV (UTF-8) and XLSX, read to texts with their places.

Everything is text. A cell that begins with ``=`` is text in CSV and a fault in XLSX, where it is a
formula whose value the file may not even hold.
"""

import csv
import io
import zipfile
from dataclasses import dataclass
from datetime import date, datetime
from pathlib import Path

from pinloom.core.findings import Finding, Place, fault
from pinloom.ledger.view import tidy

_LARGEST = 200_000_000  # bytes of a file


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """One row below the head: its cells by column, and where it is."""

    place: Place
    cells: dict[str, str]

    def at(self, column: str) -> Place:
        """The place of one cell."""
        return Place(
            file=self.place.file, sheet=self.place.sheet, row=self.place.row, column=column
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Sheet:
    """One table: its name (sheet, or the file's stem), its columns, its rows."""

    name: str
    place: Place
    columns: tuple[str, ...]
    lines: tuple[Line, ...]


def read_tables(path: Path) -> tuple[list[Sheet], list[Finding]]:
    """Every table of a file, and what could not be read of it."""
    place = Place(file=path.name)
    try:
        if path.stat().st_size > _LARGEST:
            return [], [fault("ledger-list-unreadable", place, reason="it is too large")]
        data = path.read_bytes()
    except OSError as error:
        reason = error.strerror or type(error).__name__
        return [], [fault("ledger-list-unreadable", place, reason=reason.lower())]
    if data[:2] == b"PK":
        return _workbook(data, path.name)
    try:
        text = data.decode("utf-8-sig")
        rows = list(csv.reader(io.StringIO(text, newline=""), strict=True))
    except UnicodeDecodeError:
        return [], [fault("ledger-list-unreadable", place, reason="it is not UTF-8")]
    except csv.Error as error:
        return [], [fault("ledger-list-unreadable", place, reason=f"bad CSV: {error}")]
    return _table(path.stem.lower(), place, rows)


def _workbook(data: bytes, name: str) -> tuple[list[Sheet], list[Finding]]:
    from openpyxl import load_workbook
    from openpyxl.utils import get_column_letter
    from openpyxl.utils.exceptions import InvalidFileException

    try:
        book = load_workbook(io.BytesIO(data), read_only=True, data_only=False)
    except (InvalidFileException, zipfile.BadZipFile, KeyError, ValueError, OSError):
        bad = fault("ledger-list-unreadable", Place(file=name), reason="it is no workbook")
        return [], [bad]
    sheets: list[Sheet] = []
    findings: list[Finding] = []
    for sheet in book.worksheets:
        place = Place(file=name, sheet=sheet.title)
        rows: list[list[str]] = []
        for number, row in enumerate(sheet.iter_rows(), start=1):
            cells = []
            for index, cell in enumerate(row, start=1):
                if cell.data_type == "f":
                    where = Place(
                        file=name, sheet=sheet.title, row=number, column=get_column_letter(index)
                    )
                    findings.append(fault("ledger-list-formula", where))
                cells.append("" if cell.data_type == "f" else _text(cell.value))
            rows.append(cells)
        made, said = _table(sheet.title.strip().lower(), place, rows)
        sheets += made
        findings += said
    book.close()
    return sheets, findings


def _text(value: object) -> str:
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, datetime):
        whole = value.time().isoformat() == "00:00:00"
        return value.date().isoformat() if whole else value.isoformat(sep=" ")
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(value, float) and value.is_integer():
        return str(int(value))
    return str(value)


def _table(name: str, place: Place, rows: list[list[str]]) -> tuple[list[Sheet], list[Finding]]:
    filled = [
        (number, [tidy(cell) for cell in row])
        for number, row in enumerate(rows, start=1)
        if any(tidy(cell) for cell in row)
    ]
    if not filled:
        return [], []
    head = [cell.casefold() for cell in filled[0][1]]
    said = []
    for index, column in enumerate(head):
        if column and column in head[:index]:
            where = Place(file=place.file, sheet=place.sheet, row=filled[0][0], column=column)
            said.append(fault("ledger-list-column-twice", where, column=column))
    lines = []
    for number, cells in filled[1:]:
        here = Place(file=place.file, sheet=place.sheet, row=number)
        if any(cells[len(head) :]):
            said.append(fault("ledger-list-row-long", here))
        padded = cells + [""] * (len(head) - len(cells))
        lines.append(Line(place=here, cells=dict(zip(head, padded, strict=False))))
    columns = tuple(column for column in head if column)
    return [Sheet(name=name, place=place, columns=columns, lines=tuple(lines))], said
