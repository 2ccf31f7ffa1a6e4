"""What only workbooks have: merged cells, hidden parts, formulas, dates, damage."""

import io
import zipfile
from datetime import date
from pathlib import Path

import openpyxl
import pytest
import xlsxwriter
from openpyxl.worksheet.formula import ArrayFormula

from pinloom import messages
from pinloom.chart import read_chart
from tests.chart.kit import Grid, book_file, codes, faults, good, who_opens


def test_merged_cells_are_spread(tmp_path: Path) -> None:
    """Cells under a merged range hold its text, with a note at the range."""
    path = tmp_path / "m.xlsx"
    with xlsxwriter.Workbook(path) as book:
        page = book.add_worksheet("chart")
        page.write_row(0, 0, ["door", "opening", "A", "B"])
        for row, name in enumerate(["Shed", "Store", "Yard"], start=1):
            page.write(row, 0, name)
        page.merge_range("B2:B3", "Pair")
        page.merge_range("C2:C4", "x")
        page.merge_range("D3:D4", "x")
    read = read_chart(path)
    chart = good(read)
    assert who_opens(chart) == {"Shed": {"A"}, "Store": {"A", "B"}, "Yard": {"A", "B"}}
    assert [door.opening for door in chart.doors] == ["Pair", "Pair", ""]
    merged = [f for f in read.findings if f.code == "chart-merged"]
    assert [f.value("range") for f in merged] == ["B2:B3", "C2:C4", "D3:D4"]
    assert (merged[0].place.sheet, merged[0].place.row, merged[0].place.column) == ("chart", 2, "B")


def test_hidden_parts_are_read_and_said(tmp_path: Path) -> None:
    """Hidden rows, columns and sheets count like the others; a note names each kind."""
    path = tmp_path / "m.xlsx"
    with xlsxwriter.Workbook(path) as book:
        doors = book.add_worksheet("doors")
        doors.write_row(0, 0, ["door", "count", "keys"])
        doors.write_row(1, 0, ["Shed", "", "A"])
        doors.write_row(2, 0, ["Store", 2, "A"])
        doors.set_row(2, None, None, {"hidden": True})
        doors.set_column("B:B", None, None, {"hidden": True})
        keys = book.add_worksheet("keys")
        keys.write_row(0, 0, ["key"])
        keys.write_row(1, 0, ["A"])
        keys.hide()
    read = read_chart(path)
    assert [door.count for door in good(read).doors] == [1, 2]
    said = {f.code: f for f in read.findings}
    assert said["chart-hidden-rows"].value("rows") == "3"
    assert said["chart-hidden-columns"].value("columns") == "B"
    assert said["chart-hidden-sheet"].place.sheet == "keys"


def test_formulas_errors_and_dates_are_faults(tmp_path: Path) -> None:
    """A cell without a text of its own is a fault at its place; nothing is read from it."""
    path = tmp_path / "m.xlsx"
    book = openpyxl.Workbook()
    page = book.active
    assert page is not None
    for row in (["door", "A"], ["Shed", "x"], ["=B2", "x"], [date(2024, 2, 1), "x"]):
        page.append(row)
    page["A5"] = "#REF!"
    page["B5"] = ArrayFormula("B5", "=B2&B3")
    book.save(path)
    found = {(f.code, f.place.row, f.place.column) for f in faults(read_chart(path))}
    assert found == {
        ("chart-formula", 3, "door"),
        ("chart-date", 4, "A"),
        ("chart-error-value", 5, "A"),
        ("chart-formula", 5, "A"),
    }


def test_a_text_cell_that_begins_with_an_equals_sign(tmp_path: Path) -> None:
    """It is refused like a formula, because the next spreadsheet might take it for one."""
    path = tmp_path / "m.xlsx"
    with xlsxwriter.Workbook(path) as book:
        page = book.add_worksheet()
        page.write_row(0, 0, ["door", "A"])
        page.write_string(1, 0, "=Shed")
        page.write_string(1, 1, "x")
    assert codes(read_chart(path)) == ["chart-formula"]


def test_numbers_are_names_too(tmp_path: Path) -> None:
    """A room number in a number cell reads as written, without a decimal point."""
    grid: Grid = [["door", 101, "count"], [12.0, 1, 2.0], [12.5, True, None]]
    chart = good(read_chart(book_file(tmp_path, "m.xlsx", {"s": grid})))
    assert [door.name for door in chart.doors] == ["12", "12.5"]
    assert [key.name for key in chart.keys] == ["101"]
    assert chart.doors[0].count == 2


def test_cuts_in_a_number_cell_get_a_caution(tmp_path: Path) -> None:
    """A spreadsheet drops the zero of 012345, so cuts that are a number are doubtful."""
    grids: dict[str, Grid] = {
        "doors": [["door", "keys"], ["Shed", "A"], ["Store", "B"]],
        "keys": [["key", "cuts"], ["A", 12345], ["B", "012345"]],
    }
    read = read_chart(book_file(tmp_path, "m.xlsx", grids))
    assert [key.given for key in good(read).keys] == ["12345", "012345"]
    assert [(f.code, f.place.row) for f in read.findings] == [("chart-cuts-number", 2)]


def test_sheets_that_are_not_asked_for_are_not_judged(tmp_path: Path) -> None:
    """Dates and formulas on other sheets of the workbook are nobody's fault."""
    path = tmp_path / "m.xlsx"
    book = openpyxl.Workbook()
    page = book.active
    assert page is not None
    page.append(["door", "A"])
    page.append(["Shed", "x"])
    other = book.create_sheet("costs")
    other.append([date(2024, 2, 1), "=1+1"])
    book.save(path)
    assert codes(read_chart(path)) == []


def test_leading_blank_rows_keep_the_row_numbers(tmp_path: Path) -> None:
    """Rows count as the spreadsheet shows them, also below blank ones."""
    grid: list[list[object]] = [[], [], ["door", "A"], [], ["Shed", None]]
    read = read_chart(book_file(tmp_path, "m.xlsx", {"s": grid}))
    shut = next(f for f in read.findings if f.code == "chart-door-shut")
    assert shut.place.row == 5


def damage(data: bytes, member: str, new: bytes | None) -> bytes:
    """The archive with one member replaced or left out."""
    out = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(data)) as old, zipfile.ZipFile(out, "w") as archive:
        for entry in old.infolist():
            kept = new if entry.filename == member else old.read(entry)
            if kept is not None:
                archive.writestr(entry, kept)
    return out.getvalue()


@pytest.mark.parametrize(
    ("member", "new"),
    [
        ("xl/workbook.xml", None),
        ("xl/worksheets/sheet1.xml", None),
        ("xl/worksheets/sheet1.xml", b"<worksheet><sheetData><row r="),
        ("xl/worksheets/sheet1.xml", b""),
        ("xl/sharedStrings.xml", b"<sst/>"),
        ("xl/workbook.xml", b"not xml"),
        ("[Content_Types].xml", None),
    ],
)
def test_damaged_workbooks(tmp_path: Path, member: str, new: bytes | None) -> None:
    """Whatever part of a workbook is broken, the answer is a finding."""
    whole = book_file(tmp_path, "m.xlsx", {"s": [["door", "A"], ["Shed", "x"]]})
    path = tmp_path / "broken.xlsx"
    path.write_bytes(damage(whole.read_bytes(), member, new))
    assert codes(read_chart(path)) == ["chart-workbook-damaged"]


def test_cut_off_workbooks(tmp_path: Path) -> None:
    """A workbook cut off anywhere gives findings, never an exception."""
    data = book_file(tmp_path, "m.xlsx", {"s": [["door", "A"], ["Shed", "x"]]}).read_bytes()
    path = tmp_path / "short.xlsx"
    for size in range(0, len(data), 97):
        path.write_bytes(data[:size])
        read = read_chart(path)
        assert read.chart is None
        assert all(messages.line(f) for f in faults(read))
        assert faults(read)


def test_a_workbook_that_unpacks_too_far_is_refused(tmp_path: Path) -> None:
    """A small file that unpacks to gigabytes is refused before it is unpacked."""
    path = tmp_path / "bomb.xlsx"
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("xl/workbook.xml", bytes(1000))
        for number in range(9):
            archive.writestr(f"xl/worksheets/sheet{number}.xml", bytes(50_000_000))
    assert path.stat().st_size < 1_000_000
    assert codes(read_chart(path)) == ["chart-too-large"]
