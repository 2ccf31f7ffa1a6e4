"""Bytes of a CSV file to a raw sheet. UTF-8 is the promise; what is not UTF-8 is said and, where
it can be guessed, still read, so that all other faults of the file show in the same run.
"""

import csv
import io
import re

from pinloom.chart.raw import Book, Row, Sheet
from pinloom.core.findings import Finding, Place, fault, note

_UTF16 = (b"\xff\xfe", b"\xfe\xff")
_SEPARATORS = ",;\t"
# A quote in front of a sign that starts a formula is the spreadsheet's own way to say "text".
_TEXT_MARK = re.compile(r"^'(?='*[=+\-@\t\r])")


def read_csv(data: bytes, file: str) -> Book:
    """The one sheet of a CSV file, with findings on encoding, separators and quoting."""
    found: list[Finding] = []
    text = _decode(data, file, found)
    if text is None:
        return Book(file=file, findings=tuple(found))
    separator = _separator(text)
    if separator != ",":
        name = "tab" if separator == "\t" else separator
        found.append(note("chart-separator", Place(file=file), separator=name))
    rows = _rows(text, separator, file, found)
    sheet = Sheet(file=file, name="", rows=tuple(rows))
    return Book(file=file, titles=("",), sheets=(sheet,), findings=tuple(found))


def _decode(data: bytes, file: str, found: list[Finding]) -> str | None:
    if data.startswith(_UTF16):
        found.append(fault("chart-encoding", Place(file=file, row=1), encoding="UTF-16"))
        return data.decode("utf-16", errors="replace")
    if b"\0" in data:
        found.append(fault("chart-not-text", Place(file=file)))
        return None
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        # Lines, not records: close enough to find the sign by eye.
        row = data.count(b"\n", 0, error.start) + 1
        found.append(
            fault("chart-encoding", Place(file=file, row=row), encoding="Latin-1 or Windows-1252")
        )
        return data.decode("latin-1")


def _separator(text: str) -> str:
    head = text.lstrip("\r\n").split("\n", 1)[0]
    counts = {sign: head.count(sign) for sign in _SEPARATORS}
    if counts[","] or not any(counts.values()):
        return ","
    return max(counts, key=lambda sign: counts[sign])


def _rows(text: str, separator: str, file: str, found: list[Finding]) -> list[Row]:
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=separator, strict=True)
    rows: list[Row] = []
    number = 0
    while True:
        number += 1
        try:
            cells = next(reader)
        except StopIteration:
            return rows
        except csv.Error:
            # After a broken quote nothing that follows can be trusted to be in its own cell.
            found.append(fault("chart-csv-quoting", Place(file=file, row=number)))
            return rows
        texts = tuple(_TEXT_MARK.sub("", cell.strip()) for cell in cells)
        if any(texts):
            rows.append(Row(number=number, cells=texts))
