"""Seconds to read a building's records with 100,000 components, and to draft a schedule for it.

One row in twenty is a door; the rest are components that keying does not need but a COBie workbook
holds. Memory is the peak of the process.
"""

import resource
import tempfile
from pathlib import Path

import xlsxwriter

from bench.kit import Record, keep, timed
from pinloom.chart import read_chart
from pinloom.draft import Grouping, make_schedule, read_building, write_schedule

COMPONENTS = 100_000


def write_building(path: Path, components: int) -> None:
    """A workbook of floors with corridors and offices, one department for ten offices."""
    doors = components // 20
    offices = [f"{n // 100}{n % 100:02d}" for n in range(doors)]
    floors = sorted({office[:-2] or "0" for office in offices}, key=int)
    sheets: dict[str, list[list[str]]] = {
        "Facility": [["Name", "ProjectName"], ["B", "Bench"]],
        "Floor": [["Name", "Elevation"], *([f"Floor {f}", str(int(f) * 3)] for f in floors)],
        "Space": [["Name", "Category", "FloorName", "Description"]],
        "Zone": [["Name", "Category", "SpaceNames"]],
        "Type": [["Name", "Category", "Description"], ["T", "Doors", "Flush"], ["P", "Pumps", ""]],
        "Component": [["Name", "TypeName", "Space", "ExtObject", "ExtIdentifier", "Description"]],
    }
    sheets["Space"] += [[f"C{f}", "Corridor", f"Floor {f}", "Corridor"] for f in floors]
    for number, office in enumerate(offices):
        floor = office[:-2] or "0"
        sheets["Space"].append([office, "Office", f"Floor {floor}", "Office"])
        sheets["Zone"].append([f"Department {number // 10}", "z", office])
        door = [f"Door {office}", "T", f"{office}, C{floor}", "IfcDoor", f"d{number}", ""]
        sheets["Component"].append(door)
    for number in range(components - doors):
        other = [f"Part {number}", "P", offices[number % doors], "IfcFlowTerminal", f"p{number}"]
        sheets["Component"].append([*other, "A part of the building that has no lock"])
    with xlsxwriter.Workbook(path) as book:
        for title, grid in sheets.items():
            page = book.add_worksheet(title)
            for row, cells in enumerate(grid):
                page.write_row(row, 0, cells)


def run(out_dir: Path, quick: bool) -> None:
    """Write one workbook, then read, draft, write and read back."""
    components = COMPONENTS // 50 if quick else COMPONENTS
    with tempfile.TemporaryDirectory() as folder:
        source, target = Path(folder) / "b.xlsx", Path(folder) / "d.xlsx"
        write_building(source, components)
        read, reading = timed(lambda: read_building(source))
        building = read.building
        assert building is not None
        schedule, drafting = timed(lambda: make_schedule(building, Grouping.BOTH))
        _, writing = timed(lambda: write_schedule(schedule, target))
        assert read_chart(target).chart == schedule.chart
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss // 1024
    record: Record = {
        "components": components,
        "doors": len(building.doors),
        "keys": len(schedule.keys),
        "reading_seconds": round(reading, 2),
        "drafting_seconds": round(drafting, 2),
        "writing_seconds": round(writing, 2),
        "peak_megabytes": peak,
    }
    print(", ".join(f"{name} {value}" for name, value in record.items()))
    keep(out_dir, "draft", [record], quick=quick)
