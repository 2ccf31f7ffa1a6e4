"""A COBie workbook to a building; every oddity a finding at its place, nothing guessed silently."""

from collections.abc import Callable
from datetime import date
from pathlib import Path

import openpyxl
import pytest

from pinloom import messages
from pinloom.draft import read_building
from tests.draft.kit import Sheets, book, building, codes, faults, quay


def test_the_quay_as_it_is(tmp_path: Path) -> None:
    """A sound workbook gives its building and a note on the rooms of no department."""
    read = read_building(book(tmp_path, quay()))
    made = read.building
    assert made is not None
    assert (made.name, made.source) == ("Alder Quay", "COBie")
    assert made.floors == ("Ground", "Upper")
    assert (len(made.rooms), len(made.doors)) == (16, 18)
    assert made.zones() == ("Common", "Craft", "Trade")
    assert codes(read) == ["draft-rooms-without-zone"]
    door = next(door for door in made.doors if door.name == "Door 003A")
    assert (door.sides, door.type_text) == (("003", "007"), "Flush wood")


def test_order_of_rows_does_not_matter(tmp_path: Path) -> None:
    """Reversed rows and columns give the same building."""
    sheets = {name: [row[::-1] for row in [g[0], *g[:0:-1]]] for name, g in quay().items()}
    one, two = building(tmp_path), building(tmp_path, sheets)
    assert [(d.name, d.sides) for d in one.doors] == [(d.name, d.sides) for d in two.doors]
    assert [(r.name, r.floor, r.zones) for r in one.rooms] == [
        (r.name, r.floor, r.zones) for r in two.rooms
    ]


def test_names_of_sheets_and_columns_in_any_case(tmp_path: Path) -> None:
    """Sheets and heads are found whatever their case and blanks."""
    sheets: Sheets = {name.upper(): grid for name, grid in quay().items()}
    for grid in sheets.values():
        grid[0] = [f" {str(head).lower()} " for head in grid[0]]
    assert len(building(tmp_path, sheets).doors) == 18


@pytest.mark.parametrize(
    ("written", "category", "found"),
    [
        ("IfcDoor", "23-30 10: Doors", True),
        ("IFCDOORSTANDARDCASE", "23-30 10: Doors", True),
        ("n/a", "23-30 10: Doors", True),
        ("n/a", "23-17 11 00: Doors", True),
        ("n/a", "Pr_30_59_24_02: Aluminium doorsets", True),
        ("n/a", "Interior door", True),
        ("n/a", "Door hardware", False),
        ("n/a", "23-27 17: Pumps", False),
        ("IfcWindow", "Windows", False),
    ],
)
def test_doors_by_class_or_category(
    tmp_path: Path, written: str, category: str, found: bool
) -> None:
    """A component is a door by its class, or by the category of its type."""
    sheets = quay()
    sheets["Type"].append(["Odd", category, "Something"])
    sheets["Component"].append(["Thing 102", "Odd", "101, 102", written, "id-odd"])
    doors = [door.name for door in building(tmp_path, sheets).doors]
    assert ("Thing 102" in doors) == found


def test_a_door_twice_gets_a_name_of_its_own(tmp_path: Path) -> None:
    """The second door of a name is renamed in the draft and keeps its own name for giving back."""
    sheets = quay()
    sheets["Component"].append(["Door 102", "Plain", "101, 103", "IfcDoor", "id-x"])
    doors = {door.name: door.written for door in building(tmp_path, sheets).doors}
    assert doors["Door 102 (2)"] == "Door 102"


def change(sheet: str, row: int, column: int, value: object) -> Callable[[Sheets], None]:
    """Put a value into one cell (rows from 1, columns from 0)."""

    def edit(sheets: Sheets) -> None:
        sheets[sheet][row - 1][column] = value

    return edit


def add(sheet: str, *cells: object) -> Callable[[Sheets], None]:
    """Add a row."""
    return lambda sheets: sheets[sheet].append(list(cells))


def drop(sheet: str) -> Callable[[Sheets], None]:
    """Take a sheet away."""

    def edit(sheets: Sheets) -> None:
        del sheets[sheet]

    return edit


ODDITIES = [
    (drop("Facility"), "draft-sheet-missing", "Facility", None),
    (drop("Zone"), "draft-sheet-missing", "Zone", None),
    (drop("Space"), "draft-sheet-missing", "Space", None),
    (change("Facility", 2, 0, "n/a"), "draft-name-missing", "Facility", 2),
    (add("Facility", "AQ2", "Other Quay"), "draft-facility-several", "Facility", 3),
    (change("Floor", 2, 1, "high"), "draft-height", "Floor", 2),
    (add("Floor", "Ground", 0), "draft-name-twice", "Floor", 4),
    (add("Floor", "ground", 0), "draft-names-alike", "Floor", 4),
    (change("Space", 3, 0, "001 "), "draft-name-blanks", "Space", 3),
    (change("Space", 3, 0, "00\u200b1"), "draft-name-sign", "Space", 3),
    (add("Space", "001", "n/a", "Ground", "Again"), "draft-name-twice", "Space", 18),
    (add("Space", "A, B", "x", "Ground", "Two"), "draft-room-comma", "Space", 18),
    (change("Space", 4, 2, "Cellar"), "draft-floor-unknown", "Space", 4),
    (change("Space", 4, 2, "n/a"), "draft-room-floor", "Space", 4),
    (change("Space", 4, 1, ""), "draft-room-category", "Space", 4),
    (change("Zone", 2, 2, "999"), "draft-reference-unknown", "Zone", 2),
    (change("Zone", 2, 2, ""), "draft-zone-empty", "Zone", 2),
    (add("Zone", "Trade", "z", "002"), "draft-zone-twice", "Zone", 15),
    (add("Zone", "TRADE", "z", "102"), "draft-zone-case", "Zone", 15),
    (add("Zone", "Craft", "z", "002"), "draft-room-zones", "Zone", None),
    (add("Type", "Plain", "x", "y"), "draft-name-twice", "Type", 5),
    (change("Component", 3, 1, "Odd"), "draft-reference-unknown", "Component", 3),
    (change("Component", 3, 1, "PLAIN"), "draft-reference-case", "Component", 3),
    (change("Component", 3, 1, ""), "draft-door-type", "Component", 3),
    (change("Component", 3, 1, "Pump"), "draft-door-category", "Type", 4),
    (change("Component", 3, 3, "IfcSlab"), "draft-door-class", "Component", 3),
    (change("Component", 3, 2, ""), "draft-door-nowhere", "Component", 3),
    (change("Component", 3, 2, "001, 999"), "draft-reference-unknown", "Component", 3),
    (change("Component", 3, 2, "001, 002 "), "draft-reference-blanks", "Component", 3),
    (change("Component", 3, 2, "001, 002, 003"), "draft-door-sides", "Component", 3),
    (change("Component", 3, 2, "002, 002"), "draft-door-one-room", "Component", 3),
    (change("Component", 3, 2, "101, 002"), "draft-door-floors", "Component", 3),
    (change("Component", 3, 0, "Door 003"), "draft-door-twice", "Component", 4),
    (change("Component", 3, 0, "Door 104 bis"), "draft-door-misnamed", "Component", 3),
    (change("Component", 3, 0, ""), "draft-name-missing", "Component", 3),
    (change("Component", 3, 4, "id-Door 001"), "draft-identifier-twice", "Component", 3),
    (change("Component", 3, 0, "=A2"), "draft-formula", "Component", 3),
    (change("Component", 3, 0, "#REF!"), "draft-error-value", "Component", 3),
    (change("Component", 1, 1, "Space"), "draft-column-twice", "Component", 1),
    (change("Component", 1, 2, "Room"), "draft-column-missing", "Component", 1),
    (change("Component", 1, 0, "Label"), "draft-column-missing", "Component", 1),
]


@pytest.mark.parametrize(("edit", "code", "sheet", "row"), ODDITIES)
def test_each_oddity_is_said(
    tmp_path: Path, edit: Callable[[Sheets], None], code: str, sheet: str, row: int | None
) -> None:
    """One change of the workbook gives a finding of its code at its sheet and row, with words."""
    sheets = quay()
    edit(sheets)
    read = read_building(book(tmp_path, sheets))
    said = [f for f in read.findings if f.code == code]
    assert said, codes(read)
    places = [(f.place.sheet, f.place.row) for f in said]
    assert (sheet, row) in places
    assert all(messages.line(f) for f in read.findings)


@pytest.mark.parametrize("sheet", ["Space", "Component"])
def test_without_rooms_or_doors_there_is_nothing(tmp_path: Path, sheet: str) -> None:
    """A workbook without rooms or components is a fault and gives no building."""
    sheets = quay()
    sheets[sheet] = sheets[sheet][:1]
    read = read_building(book(tmp_path, sheets))
    assert read.building is None
    assert "draft-sheet-empty" in faults(read.findings)


def test_repeated_oddities_are_counted(tmp_path: Path) -> None:
    """An oddity in each of 300 rows is told a hundred times and summed up."""
    sheets = quay()
    sheets["Component"] += [[f"Door x{i} ", "Plain", "001, 002", "IfcDoor", ""] for i in range(300)]
    read = read_building(book(tmp_path, sheets))
    assert codes(read).count("draft-name-blanks") == 100
    [more] = [f for f in read.findings if f.code == "draft-more"]
    assert (more.value("count"), more.value("kind")) == ("200", "draft-name-blanks")


def test_files_that_are_no_workbooks(tmp_path: Path) -> None:
    """Missing, foreign and damaged files are faults."""
    assert codes(read_building(tmp_path / "none.xlsx")) == ["draft-file-missing"]
    path = tmp_path / "x.xlsx"
    path.write_text("Name,Space\n", encoding="utf-8")
    assert codes(read_building(path)) == ["draft-not-a-workbook"]
    data = book(tmp_path, quay()).read_bytes()
    for size in range(4, len(data), 397):
        path.write_bytes(data[:size])
        assert codes(read_building(path)) == ["draft-workbook-damaged"]


def test_a_room_that_became_a_date(tmp_path: Path) -> None:
    """A date in a cell of names is said at its place; the row has no name then."""
    path = book(tmp_path, quay())
    made = openpyxl.load_workbook(path)
    made["Space"]["A4"] = date(2024, 1, 2)
    made.save(path)
    said = {(f.code, f.place.sheet, f.place.row) for f in read_building(path).findings}
    assert {("draft-date", "Space", 4), ("draft-name-missing", "Space", 4)} <= said
