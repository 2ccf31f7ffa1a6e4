"""A chart to CSV or XLSX files. The one door between the chart stage and the disk, for writing.

No cell can start a formula: workbooks get texts only, and a CSV cell that begins with a sign a
spreadsheet would take for one gets the spreadsheet's own text mark in front, which reading takes
away again. Files with given cuts are readable by their owner alone. Same chart, same bytes.
"""

import csv
import io
import os
import re
from datetime import UTC, datetime
from pathlib import Path

from pinloom.chart.rows import Rows, Sheets, matrix_sheets, schedule_sheets
from pinloom.core.chart import AccessChart, Key
from pinloom.core.findings import Finding, Place, caution, fault, has_fault

_FORMULA_SIGN = re.compile(r"^'*[=+\-@\t\r]")
_WORKBOOK_DATE = datetime(2000, 1, 1, tzinfo=UTC)  # a clock would change the bytes


def write_matrix(
    chart: AccessChart,
    path: str | Path,
    keys: str | Path | None = None,
    keyways: str | Path | None = None,
) -> tuple[Finding, ...]:
    """Write the chart in matrix form; the ending of ``path`` (.csv, .xlsx) chooses the kind.

    A workbook holds everything. As CSV, what columns of marks cannot hold (copies, cuts, ...) goes
    to the file ``keys``, or is named in a caution without one; the same for ``keyways``. With a
    fault among the findings nothing was written.
    """
    return _write(chart, matrix_sheets(chart), Path(path), keys, keyways)


def write_schedule(
    chart: AccessChart,
    path: str | Path,
    keys: str | Path | None = None,
    keyways: str | Path | None = None,
) -> tuple[Finding, ...]:
    """Write the chart in schedule form. As CSV it needs a file for the ``keys``."""
    target = Path(path)
    if not _is_workbook(target) and keys is None:
        return (fault("chart-write-keys", Place(file=target.name)),)
    return _write(chart, schedule_sheets(chart), target, keys, keyways)


def _write(
    chart: AccessChart,
    sheets: Sheets,
    path: Path,
    keys: str | Path | None,
    keyways: str | Path | None,
) -> tuple[Finding, ...]:
    found = list(sheets.findings)
    if has_fault(found):
        return tuple(found)
    secret = any(key.given for key in chart.keys)
    if _is_workbook(path):
        _save(path, _workbook(sheets), secret=secret)
        return tuple(found)
    lost = [] if keys is not None else sorted(_beyond_marks(chart))
    if sheets.keyways and keyways is None:
        lost.append("keyways")
    if lost:
        found.append(caution("chart-write-lost", Place(file=path.name), lost=", ".join(lost)))
    _save(path, _csv(sheets.doors), secret=False)
    if keys is not None:
        _save(Path(keys), _csv(sheets.keys), secret=secret)
    if keyways is not None and sheets.keyways:
        _save(Path(keyways), _csv(sheets.keyways), secret=False)
    return tuple(found)


def _is_workbook(path: Path) -> bool:
    return path.suffix.lower() == ".xlsx"


def _beyond_marks(chart: AccessChart) -> set[str]:
    """The columns of the table of keys that hold anything."""
    plain = Key(name="")
    named = {
        "under": "under",
        "copies": "copies",
        "standing": "reserved",
        "given": "cuts",
        "blank": "blank",
        "note": "note",
        "room": "room",
    }
    return {
        head
        for field, head in named.items()
        for key in chart.keys
        if getattr(key, field) != getattr(plain, field)
    }


def _csv(rows: Rows) -> bytes:
    text = io.StringIO(newline="")
    writer = csv.writer(text, lineterminator="\n")
    for row in rows:
        writer.writerow([f"'{cell}" if _FORMULA_SIGN.match(cell) else cell for cell in row])
    return text.getvalue().encode("utf-8")


def _workbook(sheets: Sheets) -> bytes:
    import xlsxwriter  # slow to load, and rarely wanted

    data = io.BytesIO()
    options = {"in_memory": True, "strings_to_formulas": False, "strings_to_urls": False}
    with xlsxwriter.Workbook(data, options) as book:
        book.set_properties({"created": _WORKBOOK_DATE})
        text = book.add_format({"num_format": "@"})  # a person who edits keeps zeros in front
        head = book.add_format({"num_format": "@", "bold": True})
        for name, rows in (
            ("doors", sheets.doors),
            ("keys", sheets.keys),
            ("keyways", sheets.keyways),
        ):
            if not rows:
                continue
            page = book.add_worksheet(name)
            page.freeze_panes(1, 1)
            page.set_column(0, len(rows[0]) - 1, None, text)
            page.set_column(0, 0, min(40, max(len(row[0]) for row in rows) + 2), text)
            for number, row in enumerate(rows):
                for column, cell in enumerate(row):
                    if cell:
                        page.write_string(number, column, cell, text if number else head)
    return data.getvalue()


def _save(path: Path, data: bytes, *, secret: bool) -> None:
    mode = 0o600 if secret else 0o666
    handle = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_TRUNC, mode)
    with os.fdopen(handle, "wb") as file:
        if secret:
            os.fchmod(file.fileno(), mode)  # also where the file was there before
        file.write(data)
