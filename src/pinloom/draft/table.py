"""A sheet of a COBie workbook by its column names.

Only the columns in use are judged: a workbook has dozens of others that keying does not need.
"""

import unicodedata
from collections.abc import Iterator
from dataclasses import dataclass

from pinloom.core.findings import Finding, Place, caution, fault, note
from pinloom.core.names import clean
from pinloom.draft.report import Report
from pinloom.draft.workbook import Grid, Workbook


@dataclass(frozen=True, slots=True, kw_only=True)
class Entry:
    """One row: cells as written by column name, blanks empty."""

    place: Place
    cells: dict[str, str]

    def at(self, column: str) -> Place:
        """The place of one cell."""
        return Place(
            file=self.place.file, sheet=self.place.sheet, row=self.place.row, column=column
        )

    def text(self, column: str) -> str:
        """The cell, tidied; empty where the column is missing."""
        return clean(self.cells.get(column, ""))


@dataclass(frozen=True, slots=True, kw_only=True)
class Table:
    """The entries of a sheet; ``missing`` = columns in use that it does not have."""

    entries: tuple[Entry, ...]
    missing: frozenset[str]
    place: Place


def read_table(
    book: Workbook, name: str, columns: tuple[str, ...], report: Report, *, needed: bool = False
) -> Table:
    """The entries of a sheet under the columns in use. ``needed`` sheets are faults when absent."""
    place = Place(file=book.file, sheet=name)
    grid = book.grids.get(name.casefold())
    if grid is None:
        report.add(_missing_sheet(place, needed=needed))
        return Table(entries=(), missing=frozenset(columns), place=place)
    if not grid.rows:
        report.add(_degree("draft-sheet-empty", grid.place, needed=needed))
        return Table(entries=(), missing=frozenset(columns), place=grid.place)
    where = _columns(grid, columns, report, needed=needed)
    if len(grid.rows) == 1:
        report.add(_degree("draft-sheet-empty", grid.place, needed=needed))
    _report_odd(grid, where, report)
    return Table(
        entries=tuple(_entries(grid, where)),
        missing=frozenset(columns) - where.keys(),
        place=grid.place,
    )


def _missing_sheet(place: Place, *, needed: bool) -> Finding:
    return _degree("draft-sheet-missing", place, needed=needed)


def _degree(code: str, place: Place, *, needed: bool) -> Finding:
    make = fault if needed else caution
    return make(code, place, sheet=place.sheet)


def _columns(
    grid: Grid, columns: tuple[str, ...], report: Report, *, needed: bool
) -> dict[str, int]:
    row, head = grid.rows[0]
    plain = {column.casefold(): column for column in columns}
    where: dict[str, int] = {}
    for index, cell in enumerate(head):
        column = plain.get(clean(cell).casefold())
        if column is None:
            continue
        if column in where:
            place = Place(file=grid.place.file, sheet=grid.place.sheet, row=row, column=column)
            report.add(caution("draft-column-twice", place, column=column))
        else:
            where[column] = index
    for column in columns:
        if column not in where:
            place = Place(file=grid.place.file, sheet=grid.place.sheet, row=row)
            make = fault if needed and column == "Name" else caution
            report.add(make("draft-column-missing", place, column=column))
    return where


def _report_odd(grid: Grid, where: dict[str, int], report: Report) -> None:
    names = {index: column for column, index in where.items()}
    for row, index, code in grid.odd:
        if index in names:
            place = Place(
                file=grid.place.file, sheet=grid.place.sheet, row=row, column=names[index]
            )
            report.add(caution(code, place))


def _entries(grid: Grid, where: dict[str, int]) -> Iterator[Entry]:
    for row, cells in grid.rows[1:]:
        found = {column: cells[i] for column, i in where.items() if i < len(cells)}
        if any(found.values()):
            place = Place(file=grid.place.file, sheet=grid.place.sheet, row=row)
            yield Entry(place=place, cells=found)


def entry_name(entry: Entry, report: Report) -> str:
    """The tidied name of a row; empty, with a finding, where it has none that can be used."""
    written = entry.cells.get("Name", "")
    name = clean(written)
    place = entry.at("Name")
    if not name:
        report.add(caution("draft-name-missing", place))
        return ""
    if any(unicodedata.category(sign)[0] == "C" for sign in written if not sign.isspace()):
        report.add(caution("draft-name-sign", place, name=name))
        name = clean("".join(s for s in name if unicodedata.category(s)[0] != "C"))
    elif name != written:
        report.add(note("draft-name-blanks", place, name=name))
    return name


class Names:
    """The names of one sheet: which are there twice, and what a reference to them means."""

    def __init__(self, kind: str) -> None:
        self.kind = kind
        self._first: dict[str, Place] = {}
        self._folded: dict[str, str] = {}

    def enter(self, name: str, entry: Entry, report: Report) -> bool:
        """Record a name; False, with a caution, when it is there already."""
        place = entry.at("Name")
        if name in self._first:
            report.add(
                caution("draft-name-twice", place, self._first[name], kind=self.kind, name=name)
            )
            return False
        folded = name.casefold()
        if folded in self._folded:
            other = self._folded[folded]
            report.add(
                caution("draft-names-alike", place, self._first[other], name=name, other=other)
            )
        self._folded.setdefault(folded, name)
        self._first[name] = place
        return True

    def find(self, text: str, place: Place, report: Report) -> str:
        """The name that a reference means; empty, with a caution, when there is none.

        A reference in other letters than the name itself is followed, and said.
        """
        if text in self._first:
            return text
        other = self._folded.get(text.casefold())
        if other is not None:
            report.add(caution("draft-reference-case", place, text=text, name=other))
            return other
        report.add(caution("draft-reference-unknown", place, kind=self.kind, text=text))
        return ""

    def __contains__(self, name: str) -> bool:
        return name in self._first


def split_rooms(text: str, rooms: Names) -> list[str]:
    """The room names in a cell: separated by commas, unless the whole is one room's name."""
    whole = clean(text)
    if whole in rooms:
        return [whole]
    return [part for part in (clean(part) for part in whole.split(",")) if part]
