"""The tabular sheets as a workbook: the same tables that stand on paper.

Every cell is a text, so no name can become a formula; a fixed date keeps the bytes the same.
"""

import io
from collections.abc import Sequence
from datetime import UTC, datetime

import xlsxwriter

from pinloom.sheets.blocks import Card, Cards, Cell, Sheet, Table

_DATE = datetime(2000, 1, 1, tzinfo=UTC)
_LONGEST_NAME = 31  # of a worksheet
_BAD = str.maketrans("[]:*?/\\'", "--------")


def to_workbook(sheets: Sequence[Sheet], note: str) -> bytes:
    """A workbook of every named table; ``note`` stands in the first row of each worksheet."""
    data = io.BytesIO()
    options = {"in_memory": True, "strings_to_formulas": False, "strings_to_urls": False}
    with xlsxwriter.Workbook(data, options) as book:
        book.set_properties({"created": _DATE})
        text = book.add_format({"num_format": "@"})
        bold = book.add_format({"num_format": "@", "bold": True})
        used: set[str] = set()
        for name, heads, rows in _tables(sheets):
            page = book.add_worksheet(_title(name, used))
            page.write_string(0, 0, note, bold)
            page.freeze_panes(2, 1)
            page.set_column(0, 0, 28, text)
            for column, head in enumerate(heads):
                page.write_string(1, column, head, bold)
            for number, row in enumerate(rows, start=2):
                for column, cell in enumerate(row):
                    if isinstance(cell, str) and cell:
                        page.write_string(number, column, cell, text)
    return data.getvalue()


def _tables(
    sheets: Sequence[Sheet],
) -> list[tuple[str, tuple[str, ...], tuple[tuple[Cell, ...], ...]]]:
    found = []
    for sheet in sheets:
        for block in sheet.blocks:
            if isinstance(block, Table) and block.name:
                found.append((block.name, block.heads, block.rows))
            elif isinstance(block, Cards) and block.cards:
                found.append((sheet.title, *_spread(block.cards)))
    return found


def _spread(cards: Sequence[Card]) -> tuple[tuple[str, ...], tuple[tuple[Cell, ...], ...]]:
    """Blocks under one another, each line with its block's title."""
    heads = tuple(dict.fromkeys(head for card in cards for head in card.table.heads))
    rows: list[tuple[Cell, ...]] = []
    for card in cards:
        for row in card.table.rows:
            cells = dict(zip(card.table.heads, row, strict=True))
            rows.append((card.title, *(cells.get(head, "") for head in heads)))
    return ("cylinder", *heads), tuple(rows)


def _title(name: str, used: set[str]) -> str:
    plain = name.translate(_BAD).strip()[:_LONGEST_NAME] or "sheet"
    title, number = plain, 1
    while title.casefold() in used:
        number += 1
        title = f"{plain[: _LONGEST_NAME - len(str(number)) - 1]} {number}"
    used.add(title.casefold())
    return title
