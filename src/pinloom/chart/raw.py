"""Raw sheets: rows of texts with their places, before anything is understood.

A row keeps its filled cells alone: a matrix has millions of cells and a handful of marks a row.
Both file kinds end here, so that everything after reading is the same for CSV and XLSX. A cell is a
text, or None where the file holds something no text can stand for (a formula, a date, an error
value); that has been reported already and later checks keep quiet about it.
"""

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass

from pinloom.core.findings import Finding, Place

Cell = str | None

#: names of all sheets of a workbook -> names of those to read
Choose = Callable[[tuple[str, ...]], Iterable[str]]


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """One row that holds anything; ``number`` is the spreadsheet's own, from 1. ``filled`` = column
    from 0 -> cell in ascending order, without the empty ones; ``width`` = how many cells the file
    has in this row.
    """

    number: int
    filled: Mapping[int, Cell]
    width: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Sheet:
    """One sheet. ``numeric`` = (row, column from 0) of cells that held a number, not a text."""

    file: str
    name: str  # empty for CSV
    rows: tuple[Row, ...]
    numeric: frozenset[tuple[int, int]] = frozenset()
    findings: tuple[Finding, ...] = ()

    def place(self, row: int | None = None, column: str = "") -> Place:
        """A place in this sheet."""
        return Place(file=self.file, sheet=self.name, row=row, column=column)


@dataclass(frozen=True, slots=True, kw_only=True)
class Book:
    """One file: the names of all its sheets, those that were read, and what was found.

    A CSV file has one sheet without a name.
    """

    file: str
    titles: tuple[str, ...] = ()
    sheets: tuple[Sheet, ...] = ()
    findings: tuple[Finding, ...] = ()


def letter(index: int) -> str:
    """The spreadsheet's letter of a column counted from 0: A, B, ... Z, AA."""
    text = ""
    index += 1
    while index:
        index, rest = divmod(index - 1, 26)
        text = chr(ord("A") + rest) + text
    return text


def named(titles: Iterable[str], wanted: str) -> str | None:
    """The title that equals the wanted name whatever its case; None when there is none."""
    return next((title for title in titles if title.casefold() == wanted.casefold()), None)
