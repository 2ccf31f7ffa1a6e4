"""Records of a large building are read in one go."""

from pathlib import Path

import pytest
import xlsxwriter

from pinloom.draft import read_building

COMPONENTS = 100_000


@pytest.mark.slow
def test_a_hundred_thousand_components(tmp_path: Path) -> None:
    """Of 100,000 components the 2,000 doors are found; the rest is passed over without a word."""
    path = tmp_path / "large.xlsx"
    with xlsxwriter.Workbook(path) as book:
        space = book.add_worksheet("Space")
        space.write_row(0, 0, ["Name", "Description", "FloorName", "Category"])
        space.write_row(1, 0, ["C", "Corridor", "G", "Corridor"])
        for number in range(2_000):
            space.write_row(number + 2, 0, [f"R{number}", "Office", "G", "Office"])
        page = book.add_worksheet("Component")
        page.write_row(0, 0, ["Name", "Space", "ExtObject"])
        for number in range(COMPONENTS):
            room = f"R{number // 50}"
            cells = [f"Part {number}", room, "IfcFlowTerminal"]
            if number % 50 == 0:
                cells = [f"Door {room}", f"C, {room}", "IfcDoor"]
            page.write_row(number + 1, 0, cells)
    read = read_building(path)
    assert read.building is not None
    assert len(read.building.doors) == 2_000
    assert all(len(door.sides) == 2 for door in read.building.doors)
    assert {finding.place.sheet for finding in read.findings} == {
        "Facility",
        "Floor",
        "Zone",
        "Type",
        "Component",
    }
    assert len(read.findings) < 10
