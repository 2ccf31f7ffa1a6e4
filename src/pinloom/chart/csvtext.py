"""Bytes of a CSV file to a raw sheet. UTF-8 is the promise; what is not UTF-8 is said and, where
it can be guessed, still read, so that all other faults of the file show in the same run.
"""

import csv
import re
from collections.abc import Iterable, Iterator
from itertools import chain

from pinloom.chart.raw import Book, Row, Sheet
from pinloom.core.findings import Finding, Place, fault, note

_UTF16 = (b"\xff\xfe", b"\xfe\xff")
_SEPARATORS = ",;\t"
# As the library counts them; a file object over the text would hold it four times.
_LINE = re.compile(r"[^\r\n]*+(?:\r\n|\r|\n)|[^\r\n]++")
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
    lines = _Lines(text, separator)
    rows: list[Row] = []
    number = 0
    while True:
        number += 1
        try:
            cells, width = lines.record()
        except StopIteration:
            return rows
        except csv.Error:
            # After a broken quote nothing that follows can be trusted to be in its own cell.
            found.append(fault("chart-csv-quoting", Place(file=file, row=number)))
            return rows
        filled = {index: text for index, cell in cells if (text := _plain(cell))}
        if filled:
            rows.append(Row(number=number, filled=filled, width=width))


def _plain(cell: str) -> str:
    cell = cell.strip()
    return _TEXT_MARK.sub("", cell) if cell[:1] == "'" else cell


class _Lines:
    """The records of a CSV text, each as its cells that hold anything and their number in all.

    The library takes every cell of a line apart. A line without quotes is plain, so its marks are
    looked for instead, over the separators between them: a matrix of 40 million cells has few.
    """

    def __init__(self, text: str, separator: str) -> None:
        self._lines = (found.group() for found in _LINE.finditer(text))
        self._separator = separator
        sign = re.escape(separator)
        self._next = re.compile(f"({sign}*+)([^{sign}]++)")
        self._longest = csv.field_size_limit()

    def record(self) -> tuple[Iterable[tuple[int, str]], int]:
        """The next record. Raises csv.Error for broken quotes, StopIteration at the end."""
        line = next(self._lines)
        if '"' in line or len(line) > self._longest:
            reader = csv.reader(chain((line,), self._lines), delimiter=self._separator, strict=True)
            cells = next(reader)
            return enumerate(cells), len(cells)
        body = line.rstrip("\r\n")
        between = body.count(self._separator)
        width = between + 1 if body else 0
        if 2 * between < len(body):
            return enumerate(body.split(self._separator)), width
        return self._marks(body.rstrip(self._separator)), width

    def _marks(self, body: str) -> Iterator[tuple[int, str]]:
        index = 0
        for separators, cell in self._next.findall(body):
            index += len(separators)
            yield index, cell
