"""A raw sheet with its head row understood: which column is which, and whether rows fit under it.

Heads are compared without case, and ``_`` counts as a blank. A head in round brackets marks a
column of remarks: people may write there, nothing is read from it.
"""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from difflib import get_close_matches

from pinloom.chart.raw import Cell, Row, Sheet, letter
from pinloom.core.findings import Finding, Place, fault, note
from pinloom.core.names import clean

ALIKE = 0.8  # of two heads, as difflib counts it


@dataclass(frozen=True, slots=True, kw_only=True)
class Table:
    """A sheet below its heads. ``known`` = known head -> column; ``others`` = the rest by name."""

    sheet: Sheet
    head_row: int
    rows: tuple[Row, ...]
    known: dict[str, int]
    others: dict[str, int]  # heads as written, in the order of the file
    remarks: tuple[str, ...]
    findings: tuple[Finding, ...]

    def cell(self, row: Row, head: str) -> Cell:
        """The text under a known head; empty where the column or the cell is missing."""
        index = self.known.get(head)
        return "" if index is None else at(row, index)

    def place(self, row: Row, head: str = "") -> Place:
        """The place of a row, or of its cell under a head."""
        return self.sheet.place(row.number, head)

    def head_place(self, head: str = "") -> Place:
        """The place of a head."""
        return self.sheet.place(self.head_row, head)


def at(row: Row, index: int) -> Cell:
    """A cell of a row, empty beyond its end."""
    return row.filled.get(index, "")


def plain_head(text: str) -> str:
    """A head as it is compared with the known ones."""
    return clean(text.replace("_", " ")).casefold()


def nearest(head: str, known: frozenset[str]) -> str | None:
    """The known head that this one is probably meant to be."""
    plain = plain_head(head)
    # Two texts are no more alike than the signs they share allow: most keys' names are none of
    # these, and a chart has thousands.
    close = [k for k in sorted(known) if 2 * sum(c in k for c in plain) >= ALIKE * len(k + plain)]
    if not close:
        return None
    swapped = [one for one in close if plain != one and sorted(plain) == sorted(one)]
    if swapped:  # the same letters: "expect" for "except"
        return swapped[0]
    found = get_close_matches(plain, close, 1, ALIKE)
    return found[0] if found else None


def open_table(sheet: Sheet, known: frozenset[str]) -> Table:
    """Read the heads of a sheet and check every cell for what no column may hold."""
    if not sheet.rows:
        empty = (*sheet.findings, fault("chart-empty", sheet.place()))
        return _bare(sheet, empty)
    head, *body = sheet.rows
    found = list(sheet.findings)
    rows = tuple(_without_formulas(sheet, head, row, found) for row in body)
    columns = _columns(sheet, head, known, rows, found)
    _check_widths(sheet, head, rows, found)
    if not rows:
        found.append(fault("chart-no-rows", sheet.place(head.number)))
    heads, others, remarks = columns
    return Table(
        sheet=sheet,
        head_row=head.number,
        rows=rows,
        known=heads,
        others=others,
        remarks=remarks,
        findings=tuple(found),
    )


def _bare(sheet: Sheet, findings: tuple[Finding, ...]) -> Table:
    return Table(
        sheet=sheet, head_row=1, rows=(), known={}, others={}, remarks=(), findings=findings
    )


def _without_formulas(sheet: Sheet, head: Row, row: Row, found: list[Finding]) -> Row:
    formulas = [index for index, cell in row.filled.items() if cell and cell[0] == "="]
    if not formulas:
        return row
    for index in formulas:
        title = (at(head, index) or "") or letter(index)
        text = (at(row, index) or "")[:40]
        found.append(fault("chart-formula", sheet.place(row.number, title), text=text))
    return replace(row, filled={**row.filled, **dict.fromkeys(formulas)})


def _columns(
    sheet: Sheet,
    head: Row,
    known: frozenset[str],
    rows: tuple[Row, ...],
    found: list[Finding],
) -> tuple[dict[str, int], dict[str, int], tuple[str, ...]]:
    heads: dict[str, int] = {}
    others: dict[str, int] = {}
    remarks: list[str] = []
    for index in range(head.width):
        cell = at(head, index)
        if cell is None:
            continue
        if cell.startswith("="):
            found.append(fault("chart-formula", sheet.place(head.number, letter(index)), text=cell))
            continue
        name = clean(cell)
        if not name:
            _check_unnamed(sheet, index, rows, found)
        elif name.startswith("(") and name.endswith(")"):
            remarks.append(name)
        elif plain_head(name) in known:
            _take(sheet, head, heads, plain_head(name), index, found)
        else:
            _take(sheet, head, others, name, index, found)
    return heads, others, tuple(remarks)


def _take(
    sheet: Sheet, head: Row, taken: dict[str, int], name: str, index: int, found: list[Finding]
) -> None:
    if name in taken:
        first = sheet.place(head.number, letter(taken[name]))
        place = sheet.place(head.number, letter(index))
        found.append(fault("chart-column-twice", place, first, head=name))
    else:
        taken[name] = index


def _check_unnamed(sheet: Sheet, index: int, rows: tuple[Row, ...], found: list[Finding]) -> None:
    for row in rows:
        if at(row, index):
            place = sheet.place(row.number, letter(index))
            found.append(fault("chart-column-unnamed", place, text=(at(row, index) or "")[:40]))
            return


def _check_widths(sheet: Sheet, head: Row, rows: tuple[Row, ...], found: list[Finding]) -> None:
    width = head.width
    for row in rows:
        if row.width <= width:
            continue
        surplus = [index for index, cell in row.filled.items() if index >= width and cell]
        if surplus:
            place = sheet.place(row.number, letter(surplus[0]))
            found.append(fault("chart-row-long", place, heads=width, cells=row.width))
    # Workbooks leave out trailing blank cells as a matter of course; a text file seldom does.
    short = [row for row in rows if row.width < width] if not sheet.name else []
    if short:
        place = sheet.place(short[0].number)
        found.append(note("chart-row-short", place, rows=len(short), heads=width))


def cells_of(table: Table, head: str) -> Iterator[tuple[Row, str]]:
    """The readable, filled cells under a known head with their rows."""
    for row in table.rows:
        text = table.cell(row, head)
        if text:
            yield row, text
