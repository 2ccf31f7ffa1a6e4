"""A small building of our own as a COBie workbook: the sail lofts of Alder Quay, two floors.

ground  Yard (outdoors) - Hall (corridor) - Office, Sail store, Toilet, Till room
        Hall - Stair ; Workshop - Yard ; Workshop - Paint store ; Workshop - Cleaners' cupboard
upper   Stair - Landing - Loft 1, Loft 2, Plant room, Server room ; Loft 2 - Loft store
"""

from collections.abc import Mapping, Sequence
from pathlib import Path

import pytest
import xlsxwriter

from pinloom.core.findings import Finding, Severity
from pinloom.draft import Building, BuildingRead, read_building

Rows = list[list[object]]
Sheets = dict[str, Rows]
CLINIC = Path(__file__).parents[2] / ".." / "shared" / "data" / "clinic-cobie.xlsx"


def clinic() -> Path:
    """The published clinic, or a skip that says so."""
    if not CLINIC.exists():
        pytest.skip("no building data: the published clinic workbook is not beside the repository")
    return CLINIC


_ROOMS = [
    ("Y", "Yard", "", "Ground", ""),
    ("001", "Hall", "13-85 11 11: Corridor", "Ground", "Common"),
    ("002", "Office", "13-15 11 34 11: Office", "Ground", "Trade"),
    ("003", "Sail store", "13-75 11 11: Storage Room", "Ground", "Trade"),
    ("004", "Toilet", "13-41 11 14 21: Restroom", "Ground", "Common"),
    ("005", "Till and cash", "", "Ground", "Trade"),
    ("006", "Stair", "13-85 21 11: Stairway", "Ground", "Common"),
    ("007", "Workshop", "", "Ground", "Craft"),
    ("008", "Flammable paint store", "", "Ground", "Craft"),
    ("009", "Cleaners", "", "Ground", "Craft"),
    ("101", "Landing", "13-85 11 11: Corridor", "Upper", "Common"),
    ("102", "Loft 1", "", "Upper", "Craft"),
    ("103", "Loft 2", "", "Upper", "Craft"),
    ("104", "Plant room", "", "Upper", ""),
    ("105", "Server room", "", "Upper", ""),
    ("106", "Fitting corner", "", "Upper", "Craft"),
]
_DOORS = [
    ("Door 001", "Outer", "001"),
    ("Door 002", "Plain", "001, 002"),
    ("Door 003", "Plain", "001, 003"),
    ("Door 003A", "Plain", "003, 007"),
    ("Door 004", "Plain", "001, 004"),
    ("Door 005", "Plain", "002, 005"),
    ("Door 006", "Plain", "001, 006"),
    ("Door 007", "Outer", "007, Y"),
    ("Door 007A", "Plain", "001, 007"),
    ("Door 008", "Plain", "007, 008"),
    ("Door 009", "Plain", "007, 009"),
    ("Door 101", "Plain", "006, 101"),
    ("Door 102", "Plain", "101, 102"),
    ("Door 103", "Plain", "101, 103"),
    ("Door 103A", "Plain", "101, 103"),
    ("Door 104", "Plain", "101, 104"),
    ("Door 105", "Plain", "101, 105"),
    ("Door 106", "Plain", "103, 106"),
]


def quay() -> Sheets:
    """The sheets of the workbook, fresh for a test to change."""
    zones: Rows = [[zone, "Occupancy Zone", name] for name, _, _, _, zone in _ROOMS if zone]
    rooms: Rows = [
        [name, category or "Room", floor, title] for name, title, category, floor, _ in _ROOMS
    ]
    doors: Rows = [[name, kind, sides, "IfcDoor", f"id-{name}"] for name, kind, sides in _DOORS]
    return {
        "Facility": [["Name", "ProjectName"], ["AQ", "Alder Quay"]],
        "Floor": [["Name", "Elevation"], ["Upper", 3.2], ["Ground", 0]],
        "Space": [
            ["Name", "Category", "FloorName", "Description"],
            *rooms,
        ],
        "Zone": [["Name", "Category", "SpaceNames"], *zones],
        "Type": [
            ["Name", "Category", "Description"],
            ["Plain", "23-30 10: Doors", "Flush wood"],
            ["Outer", "23-30 10: Doors", "Flush steel, exterior"],
            ["Pump", "23-27 17: Pumps", "Bilge pump"],
        ],
        "Component": [
            ["Name", "TypeName", "Space", "ExtObject", "ExtIdentifier"],
            *doors,
            ["Pump 1", "Pump", "104", "IfcPump", "id-pump"],
        ],
    }


def book(folder: Path, sheets: Mapping[str, Sequence[Sequence[object]]], name: str = "b") -> Path:
    """A workbook of those cells; texts stay texts."""
    path = folder / f"{name}.xlsx"
    with xlsxwriter.Workbook(path, {"strings_to_formulas": False}) as made:
        for title, grid in sheets.items():
            page = made.add_worksheet(title)
            for number, row in enumerate(grid):
                for column, value in enumerate(row):
                    if value is not None:
                        page.write(number, column, value)
    return path


def building(folder: Path, sheets: Sheets | None = None) -> Building:
    """The building of a workbook that has no fault."""
    read = read_building(book(folder, sheets or quay()))
    assert read.building is not None, [str(f) for f in read.findings]
    return read.building


def codes(read: BuildingRead) -> list[str]:
    """The codes of all findings in the order told."""
    return [finding.code for finding in read.findings]


def faults(findings: Sequence[Finding]) -> list[str]:
    """The codes of what stops the work."""
    return [finding.code for finding in findings if finding.severity is Severity.FAULT]
