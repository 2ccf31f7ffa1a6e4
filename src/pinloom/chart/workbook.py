"""An XLSX workbook to raw sheets: values, merged cells spread, hidden rows and columns noted.

The fast reader of the library streams values but knows neither merged cells nor hidden rows, and
its full reader is several times slower, so those few facts are read from the sheet's XML.
"""

import io
import re
import warnings
import zipfile
from collections.abc import Iterator
from datetime import date, time, timedelta
from typing import Any
from xml.etree.ElementTree import ParseError

import openpyxl
from openpyxl.utils.cell import range_boundaries

from pinloom.chart.raw import Book, Cell, Choose, Row, Sheet, letter
from pinloom.core.findings import Finding, Place, fault, note

#: unpacked bytes above which a workbook is refused: a chart of 20,000 doors unpacks to about 3 MB
LARGEST = 400_000_000

_ERRORS = frozenset({"#REF!", "#N/A", "#NAME?", "#DIV/0!", "#VALUE!", "#NUM!", "#NULL!"})
_MERGE = re.compile(rb'<(?:\w+:)?mergeCell\b[^>]*?\bref="([A-Z0-9:$]+)"')
_HIDDEN_ROW = re.compile(rb'<(?:\w+:)?row\b(?=[^>]*\bhidden="(?:1|true)")[^>]*?\br="(\d+)"')
_COLUMN = re.compile(rb'<(?:\w+:)?col\b(?=[^>]*\bhidden="(?:1|true)")[^>]*>')
_BOUND = re.compile(rb'\b(min|max)="(\d+)"')
_SPREAD_LIMIT = 1_000_000  # cells of one merged range; more is a whole sheet merged by accident

Value = object


def read_workbook(data: bytes, file: str, choose: Choose) -> Book:
    """The chosen sheets of a workbook; one that is not sound gives a fault and no sheets."""
    place = Place(file=file)
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as archive:
            if sum(entry.file_size for entry in archive.infolist()) > LARGEST:
                return _refused(fault("chart-too-large", place, megabytes=LARGEST // 1_000_000))
            return _sheets(data, archive, file, choose)
    except (
        # what the library and the archive raise on damaged files of every kind
        zipfile.BadZipFile,
        ParseError,
        KeyError,
        ValueError,
        TypeError,
        IndexError,
        AttributeError,
        EOFError,
        OSError,
        NotImplementedError,
        RuntimeError,  # an encrypted archive
    ):
        return _refused(fault("chart-workbook-damaged", place))


def _refused(finding: Finding) -> Book:
    return Book(file=finding.place.file, findings=(finding,))


def _sheets(data: bytes, archive: zipfile.ZipFile, file: str, choose: Choose) -> Book:
    with warnings.catch_warnings():
        # The library warns of parts it drops (styles, validation); no value is among them.
        warnings.simplefilter("ignore")
        book = openpyxl.load_workbook(io.BytesIO(data), read_only=True, data_only=False)
        titles = tuple(str(worksheet.title) for worksheet in book.worksheets)
        chosen = frozenset(choose(titles))
        sheets = [
            _read(worksheet, archive, file)
            for worksheet in book.worksheets
            if str(worksheet.title) in chosen
        ]
        book.close()
    return Book(file=file, titles=titles, sheets=tuple(sheets))


def _read(worksheet: Any, archive: zipfile.ZipFile, file: str) -> Sheet:
    worksheet.reset_dimensions()  # written sizes are often wrong
    values = [list(row) for row in worksheet.iter_rows(values_only=True)]
    # The library keeps the path of a sheet's XML to itself; a test notices when it moves.
    xml = archive.read(str(worksheet._worksheet_path).lstrip("/"))
    place = Place(file=file, sheet=str(worksheet.title))
    found: list[Finding] = []
    if worksheet.sheet_state != "visible":
        found.append(note("chart-hidden-sheet", place))
    found += _hidden(xml, place)
    found += _spread(xml, values, place)
    return _sheet(place, values, found)


def _hidden(xml: bytes, place: Place) -> Iterator[Finding]:
    rows = [int(number) for number in _HIDDEN_ROW.findall(xml)]
    if rows:
        yield note("chart-hidden-rows", place, rows=_listed([str(row) for row in rows]))
    columns: list[str] = []
    for tag in _COLUMN.findall(xml):
        bounds = dict(_BOUND.findall(tag))
        first, last = int(bounds[b"min"]), int(bounds[b"max"])
        columns += [letter(index) for index in range(first - 1, min(last, first + 1000))]
    if columns:
        yield note("chart-hidden-columns", place, columns=_listed(columns))


def _listed(names: list[str], most: int = 12) -> str:
    more = f" and {len(names) - most} more" if len(names) > most else ""
    return ", ".join(names[:most]) + more


def _spread(xml: bytes, values: list[list[Value]], place: Place) -> Iterator[Finding]:
    for ref in _MERGE.findall(xml):
        text = ref.decode("ascii").replace("$", "")
        left, top, right, bottom = range_boundaries(text)
        if left is None or top is None or right is None or bottom is None:
            continue
        if (right - left + 1) * (bottom - top + 1) > _SPREAD_LIMIT or top > len(values):
            continue
        corner = values[top - 1][left - 1] if left <= len(values[top - 1]) else None
        if corner is None:
            continue
        for row in range(top - 1, bottom):
            while row >= len(values):
                values.append([])
            cells = values[row]
            cells.extend([None] * (right - len(cells)))
            cells[left - 1 : right] = [corner] * (right - left + 1)
        where = Place(file=place.file, sheet=place.sheet, row=top, column=letter(left - 1))
        yield note("chart-merged", where, range=text)


def _sheet(place: Place, values: list[list[Value]], found: list[Finding]) -> Sheet:
    rows: list[Row] = []
    numeric: set[tuple[int, int]] = set()
    for number, row in enumerate(values, start=1):
        filled: dict[int, Cell] = {}
        for index, value in enumerate(row):
            if value is None:
                continue
            if isinstance(value, str) and value not in _ERRORS:
                if text := value.strip():
                    filled[index] = text
                continue
            filled[index] = _text(value)
            if filled[index] is None:
                found.append(_odd(value, place, number, index))
            numeric.add((number, index))
        if filled:
            rows.append(Row(number=number, filled=filled, width=len(row)))
    return Sheet(
        file=place.file,
        name=place.sheet,
        rows=tuple(rows),
        numeric=frozenset(numeric),
        findings=tuple(found),
    )


def _text(value: Value) -> Cell:
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, int):
        return str(value)
    if isinstance(value, float):
        return str(int(value)) if value.is_integer() else repr(value)
    if isinstance(value, (str, date, time, timedelta)):
        return None
    return "="  # the library's own records of array formulas and data tables


def _odd(value: Value, place: Place, row: int, column: int) -> Finding:
    code = "chart-error-value" if isinstance(value, str) else "chart-date"
    where = Place(file=place.file, sheet=place.sheet, row=row, column=letter(column))
    return fault(code, where, text=value)
