"""The table of key blanks and the keyways that each enters. None ship; a job brings its own."""

from collections.abc import Collection

from pinloom.chart.cells import NameBook, sign_fault, split_names
from pinloom.chart.keys import check_columns
from pinloom.chart.raw import Sheet
from pinloom.chart.table import cells_of, open_table
from pinloom.core.chart import Blank
from pinloom.core.findings import Finding, fault
from pinloom.core.names import clean

BLANK_COLUMNS = frozenset({"blank", "enters"})


def read_blanks(sheet: Sheet, keyways: Collection[str], found: list[Finding]) -> tuple[Blank, ...]:
    """The blanks of a ``keyways`` sheet; ``enters`` lists keyways separated by blanks.

    ``keyways`` = those that doors name, so that a keyway's name may hold a blank.
    """
    table = open_table(sheet, BLANK_COLUMNS)
    found += table.findings
    check_columns(table, BLANK_COLUMNS, found)
    missing = [head for head in sorted(BLANK_COLUMNS) if head not in table.known]
    if missing:
        if table.rows:
            found += [fault("chart-column-missing", table.head_place(), head=h) for h in missing]
        return ()
    book = NameBook(twice="chart-blank-twice")
    blanks: list[Blank] = []
    for row, text in cells_of(table, "blank"):
        name, place = clean(text), table.place(row, "blank")
        wrong = sign_fault(name, place)
        if wrong:
            found.append(wrong)
            continue
        if book.enter(name, place, found):
            entered = split_names(table.cell(row, "enters") or "", keyways)
            if not entered and table.cell(row, "enters") is not None:
                found.append(fault("chart-blank-nowhere", table.place(row, "enters"), blank=name))
            blanks.append(Blank(name=name, enters=tuple(dict.fromkeys(entered))))
    return tuple(blanks)
