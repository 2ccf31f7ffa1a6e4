"""A COBie workbook to rows of texts. The only place of the stage that opens workbooks to read.

COBie 2.4 (National BIM Standard - United States, version 3; BS 1192-4:2014) is a workbook with one
sheet a kind of thing. Blank cells are written ``n/a``; they are blank here.
"""

import io
import warnings
import zipfile
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, time, timedelta
from pathlib import Path
from typing import Any
from xml.etree.ElementTree import ParseError

import openpyxl

from pinloom.core.findings import Finding, Place, fault

LARGEST = 200_000_000  # bytes on disk
LARGEST_UNPACKED = 2_000_000_000  # 100,000 components unpack to about 150 MB
_ZIP = b"PK\x03\x04"
_ERRORS = frozenset({"#REF!", "#N/A", "#NAME?", "#DIV/0!", "#VALUE!", "#NUM!", "#NULL!"})
_ODD = "\0"  # no cell can hold it, so it marks what no text stands for
_BLANKS = frozenset({"", "n/a"})

#: what the library and the archive raise on damaged files of every kind
DAMAGE = (
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
    RuntimeError,
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Grid:
    """One sheet: row number -> cells as the file has them, blanks as empty texts."""

    place: Place
    rows: tuple[tuple[int, tuple[str, ...]], ...]
    odd: tuple[tuple[int, int, str], ...]  # row, column from 0, code of what no text stands for


@dataclass(frozen=True, slots=True, kw_only=True)
class Workbook:
    """The sheets asked for, by their plain names; what could not be read is a finding."""

    file: str
    grids: dict[str, Grid]
    titles: tuple[str, ...] = ()
    findings: tuple[Finding, ...] = ()


def read_workbook(path: Path, wanted: Iterable[str]) -> Workbook:
    """Read the wanted sheets of a workbook, whatever the case of their names."""
    place = Place(file=path.name)
    try:
        if path.is_dir() or not path.exists():
            return _refused(fault("draft-file-missing", place))
        if path.stat().st_size > LARGEST:
            return _refused(fault("draft-too-large", place, megabytes=LARGEST // 1_000_000))
        data = path.read_bytes()
    except OSError as error:
        reason = error.strerror or "unknown reason"
        return _refused(fault("draft-file-unreadable", place, reason=reason))
    if not data.startswith(_ZIP):
        return _refused(fault("draft-not-a-workbook", place))
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as archive:
            size = sum(entry.file_size for entry in archive.infolist())
        if size > LARGEST_UNPACKED:
            most = LARGEST_UNPACKED // 1_000_000
            return _refused(fault("draft-too-large", place, megabytes=most))
        return _sheets(data, path.name, frozenset(name.casefold() for name in wanted))
    except DAMAGE:
        return _refused(fault("draft-workbook-damaged", place))


def _refused(finding: Finding) -> Workbook:
    return Workbook(file=finding.place.file, grids={}, findings=(finding,))


def _sheets(data: bytes, file: str, wanted: frozenset[str]) -> Workbook:
    grids: dict[str, Grid] = {}
    with warnings.catch_warnings():
        # The library warns of parts it drops (styles, validation); no value is among them.
        warnings.simplefilter("ignore")
        book = openpyxl.load_workbook(io.BytesIO(data), read_only=True)
        titles = tuple(str(sheet.title) for sheet in book.worksheets)
        for sheet in book.worksheets:
            name = str(sheet.title).strip().casefold()
            if name in wanted and name not in grids:
                grids[name] = _grid(sheet, Place(file=file, sheet=str(sheet.title)))
        book.close()
    return Workbook(file=file, grids=grids, titles=titles)


def _grid(sheet: Any, place: Place) -> Grid:
    sheet.reset_dimensions()  # written sizes are often wrong
    rows: list[tuple[int, tuple[str, ...]]] = []
    odd: list[tuple[int, int, str]] = []
    for number, values in enumerate(sheet.iter_rows(values_only=True), start=1):
        cells = tuple(map(_text, values))
        if not any(cells):
            continue
        for column, cell in enumerate(cells):
            # Formulas, errors and dates come back with a sign that no cell can hold.
            if cell and cell[0] == _ODD:
                odd.append((number, column, cell[1:]))
        rows.append((number, tuple("" if c and c[0] == _ODD else c for c in cells)))
    return Grid(place=place, rows=tuple(rows), odd=tuple(odd))


def _text(value: object) -> str:
    if value is None:
        return ""
    if isinstance(value, str):
        if value.strip().casefold() in _BLANKS:
            return ""
        if value[0] == "=":
            return _ODD + "draft-formula"
        return _ODD + "draft-error-value" if value in _ERRORS else value
    if isinstance(value, float):
        return str(int(value)) if value.is_integer() else repr(value)
    if isinstance(value, (date, time, timedelta)):
        return _ODD + "draft-date"
    if isinstance(value, (bool, int)):
        return str(value)
    return _ODD + "draft-formula"  # the library's own records of array formulas
