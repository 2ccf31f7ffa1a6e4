"""The published clinic: 254 doors that nobody here wrote.

Building: BSI (2020) "Medical-Dental Test Files", buildingSMART International, Community Sample Test
Files, CC BY 4.0; shortened to six sheets, names of persons, makers and systems taken out.
"""

import time
from collections import Counter
from pathlib import Path

import pytest

from pinloom.chart import read_chart
from pinloom.draft import Grouping, make_schedule, read_building, write_schedule
from tests.draft.kit import clinic, codes, faults

pytestmark = pytest.mark.published


def test_reading_the_clinic() -> None:
    """Doors, rooms and departments are as many as the publication has; its oddities are said."""
    read = read_building(clinic())
    made = read.building
    assert made is not None
    assert (len(made.doors), len(made.rooms), len(made.zones())) == (254, 269, 18)
    assert Counter(len(door.sides) for door in made.doors) == {2: 230, 1: 24}
    assert faults(read.findings) == []
    assert Counter(codes(read)) == {
        "draft-name-blanks": 3,  # three types of door
        "draft-reference-blanks": 2,
        "draft-door-one-room": 4,  # partitions, and two doors of one waiting area
        "draft-door-floors": 1,  # 2C17 upstairs joins 1C16 downstairs
        "draft-door-misnamed": 3,
        "draft-rooms-without-door": 1,
        "draft-rooms-without-zone": 1,
    }


@pytest.mark.parametrize("by", list(Grouping))
def test_drafting_the_clinic(tmp_path: Path, by: Grouping) -> None:
    """Every door is drafted or listed apart; the workbook reads back as the chart it means, in far
    less than five seconds.
    """
    start = time.perf_counter()
    made = read_building(clinic()).building
    assert made is not None
    schedule = make_schedule(made, by)
    write_schedule(schedule, tmp_path / "draft.xlsx")
    assert time.perf_counter() - start < 5
    assert (len(schedule.doors), len(schedule.apart)) == (186, 68)
    assert schedule.chart is not None
    assert read_chart(tmp_path / "draft.xlsx").chart == schedule.chart
    masters = {key.name for key in schedule.keys if key.note.startswith("master of")}
    assert len(masters) == (2 if by is Grouping.FLOOR else 17)
    assert sum(key.name.startswith("FLOOR") for key in schedule.keys) == (
        2 if by is Grouping.BOTH else 0
    )


def test_judgements_on_the_clinic() -> None:
    """Doors that a person would notice are judged as that person would."""
    made = read_building(clinic()).building
    assert made is not None
    schedule = make_schedule(made, Grouping.ZONE)
    rooms = {d.judged.door.name: d for d in schedule.doors}
    dispensary = rooms["Door 1A15A"]
    assert dispensary.judged.inside is not None
    assert dispensary.judged.inside.label == "1A16 PHARM. DISP."
    assert "CLEANING" not in dispensary.keys
    assert rooms["Door 2D07"].keys == rooms["Door 2D08"].keys  # two doors of one office
    assert "ENTRANCE" in rooms["Door 1AC3"].keys
    apart = {one.door.name: one.apart.name for one in schedule.apart if one.apart}
    assert apart["Door 1A09"] == apart["Door Toilet- 01"] == "TOILET"
    assert apart["Door 2D20B"] == "ONE_ROOM"
    assert apart["Door 1BS2"] == "OPEN"
    asked = {question.about for question in schedule.questions}
    assert {"Door 2C16", "Door 1A11", "Door 1D06A", "1A16 PHARM. DISP."} <= asked
