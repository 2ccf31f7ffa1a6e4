"""Small helpers of the chart tests: files made on the spot, and answers in names."""

from collections.abc import Mapping, Sequence
from pathlib import Path

import xlsxwriter

from pinloom.chart import ChartRead
from pinloom.core.chart import AccessChart
from pinloom.core.findings import Finding, Severity

Grid = Sequence[Sequence[object]]


def text_file(folder: Path, name: str, text: str) -> Path:
    """A UTF-8 file with that text."""
    path = folder / name
    path.write_text(text, encoding="utf-8", newline="")
    return path


def book_file(folder: Path, name: str, sheets: Mapping[str, Grid]) -> Path:
    """A workbook with those cells; texts stay texts, numbers numbers."""
    path = folder / name
    with xlsxwriter.Workbook(path, {"strings_to_formulas": False}) as book:
        for title, grid in sheets.items():
            page = book.add_worksheet(title)
            for number, row in enumerate(grid):
                for column, value in enumerate(row):
                    if value is not None:
                        page.write(number, column, value)
    return path


def who_opens(chart: AccessChart) -> dict[str, set[str]]:
    """Door name -> names of the keys that open it."""
    return {
        door.name: {chart.keys[k].name for k in row}
        for door, row in zip(chart.doors, chart.openers, strict=True)
    }


def faults(read: ChartRead) -> list[Finding]:
    """The findings that stop the work."""
    return [f for f in read.findings if f.severity is Severity.FAULT]


def codes(read: ChartRead) -> list[str]:
    """The codes of all findings in the order told."""
    return [f.code for f in read.findings]


def good(read: ChartRead) -> AccessChart:
    """The chart of a read that found no fault."""
    assert read.chart is not None, [str(f) for f in faults(read)]
    return read.chart
