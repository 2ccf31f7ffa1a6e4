"""The published clinic, mangled: forty different faults give forty findings and no traceback.

Building: BSI (2020) "Medical-Dental Test Files", buildingSMART International, Community Sample Test
Files, CC BY 4.0; shortened to six sheets.
"""

from collections import Counter
from pathlib import Path
from typing import Any

import openpyxl

from pinloom import messages
from pinloom.draft import Grouping, make_schedule, read_building
from tests.draft.kit import clinic

#: sheet, row, column, new value, code of the finding it must give, row of that finding
FAULTS: list[tuple[str, int, str, Any, str, int | None]] = [
    ("Facility", 2, "ProjectName", "=A1", "draft-formula", 2),
    ("Floor", 2, "Name", "First Floor ", "draft-name-blanks", 2),
    ("Floor", 3, "Elevation", "up there", "draft-height", 3),
    ("Floor", 5, "Name", None, "draft-name-missing", 5),
    ("Floor", 6, "Name", "second floor", "draft-names-alike", 6),
    ("Space", 3, "Name", None, "draft-name-missing", 3),
    ("Space", 4, "Name", " 1A03", "draft-name-blanks", 4),
    ("Space", 5, "Name", "1A\u200b04", "draft-name-sign", 5),
    ("Space", 6, "Name", "1A03", "draft-name-twice", 6),
    ("Space", 7, "FloorName", "Third Floor", "draft-floor-unknown", 7),
    ("Space", 8, "FloorName", "n/a", "draft-room-floor", 8),
    ("Space", 9, "Category", "n/a", "draft-room-category", 9),
    ("Space", 10, "Description", "#REF!", "draft-error-value", 10),
    ("Space", 11, "Category", "=1+1", "draft-formula", 11),
    ("Zone", 2, "Name", None, "draft-name-missing", 2),
    ("Zone", 3, "SpaceNames", "9Z99", "draft-reference-unknown", 3),
    ("Zone", 4, "SpaceNames", None, "draft-zone-empty", 4),
    ("Zone", 8, "Name", "ADMINISTRATION", "draft-zone-case", 8),
    ("Zone", 10, "SpaceNames", "1a11", "draft-reference-case", 10),
    ("Zone", 12, "SpaceNames", "1A11", "draft-zone-twice", 12),
    ("Type", 9, "Category", "23-27 17: Pumps", "draft-door-category", 9),
    ("Type", 3, "Name", "Door Type A", "draft-name-twice", 3),
    ("Type", 4, "Name", None, "draft-name-missing", 4),
    ("Component", 2, "Name", None, "draft-name-missing", 2),
    ("Component", 3, "Name", "Door 1A04", "draft-door-twice", 4),
    ("Component", 5, "Name", "Door 1A05 ", "draft-name-blanks", 5),
    ("Component", 6, "Name", "Door 1A0\u200b6", "draft-name-sign", 6),
    ("Component", 7, "Name", "=B2", "draft-formula", 7),
    ("Component", 8, "TypeName", "Door Type Z", "draft-reference-unknown", 8),
    ("Component", 9, "TypeName", "DOOR TYPE E", "draft-reference-case", 9),
    ("Component", 10, "TypeName", "n/a", "draft-door-type", 10),
    ("Component", 11, "ExtObject", "IfcWindow", "draft-door-class", 11),
    ("Component", 12, "Space", "n/a", "draft-door-nowhere", 12),
    ("Component", 13, "Space", "1A13, 9Z98", "draft-reference-unknown", 13),
    ("Component", 14, "Space", "1A15, 1AS1, 1A16", "draft-door-sides", 14),
    ("Component", 15, "Space", "1A15, 1A15", "draft-door-one-room", 15),
    ("Component", 16, "Space", "2A01, 1AC1", "draft-door-floors", 16),
    ("Component", 17, "Space", "1B01 , 1BC1", "draft-reference-blanks", 17),
    ("Component", 18, "ExtIdentifier", "1byTDaqS91rBnWJlv$nnQb", "draft-identifier-twice", 18),
    ("Component", 19, "Name", "Door 1C02 bis", "draft-door-misnamed", 19),
]


def mangle(source: Path, target: Path) -> None:
    """Write a copy with every fault."""
    made = openpyxl.load_workbook(source)
    for sheet, row, column, value, _, _ in FAULTS:
        page = made[sheet]
        heads = {cell.value: int(cell.column or 0) for cell in page[1]}
        page.cell(row=row, column=heads[column]).value = value
    made.save(target)


def test_forty_faults_give_forty_findings(tmp_path: Path) -> None:
    """Each fault is found at its sheet and row; the draft is made all the same."""
    mangled = tmp_path / "mangled.xlsx"
    mangle(clinic(), mangled)
    before = Counter((f.code, f.place.sheet, f.place.row) for f in read_building(clinic()).findings)
    read = read_building(mangled)
    after = Counter((f.code, f.place.sheet, f.place.row) for f in read.findings)
    wanted = Counter((code, sheet, row) for sheet, _, _, _, code, row in FAULTS)
    assert len(FAULTS) == 40
    assert len(wanted) == 40
    assert wanted - (after - before) == Counter()
    assert all(messages.line(finding) for finding in read.findings)
    assert read.building is not None
    assert make_schedule(read.building, Grouping.BOTH).chart is not None
