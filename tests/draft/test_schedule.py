"""The draft of Alder Quay: keys, masters, service keys, questions; and its workbook, read back."""

from pathlib import Path

import openpyxl
import pytest

from pinloom.chart import read_chart
from pinloom.chart import write_schedule as write_chart
from pinloom.core.findings import Severity
from pinloom.draft import DraftSchedule, Grouping, make_schedule, write_schedule
from tests.draft.kit import building, faults, quay


def draft(folder: Path, by: Grouping = Grouping.ZONE, services: bool = True) -> DraftSchedule:
    """The draft of the quay."""
    return make_schedule(building(folder), by, services=services)


def keys_of(schedule: DraftSchedule) -> dict[str, tuple[str, ...]]:
    """Door -> its lowest keys."""
    return {door.judged.door.name: door.keys for door in schedule.doors}


def test_by_zone(tmp_path: Path) -> None:
    """One change key a room, a master a department, one key for the outer doors of open areas."""
    schedule = draft(tmp_path, services=False)
    assert keys_of(schedule) == {
        "Door 001": ("ENTRANCE",),
        "Door 002": ("AB1",),
        "Door 003": ("AB2",),
        "Door 003A": ("AB2",),
        "Door 005": ("AB3",),
        "Door 007": ("AA1",),
        "Door 007A": ("AA1",),
        "Door 008": ("AA2",),
        "Door 009": ("AA3",),
        "Door 102": ("AA4",),
        "Door 103": ("AA5",),
        "Door 103A": ("AA5",),
        "Door 104": ("A1",),
        "Door 105": ("A2",),
    }
    under = {key.name: (key.under, key.note) for key in schedule.keys}
    assert under["AA"] == ("TOP", "master of Craft")
    assert under["AB"] == ("TOP", "master of Trade")
    assert under["AA5"] == ("AA", "103 Loft 2")
    assert under["A1"] == ("TOP", "104 Plant room")
    assert under["TOP"][0] == under["ENTRANCE"][1][:0] == ""
    assert [one.door.name for one in schedule.apart] == [
        "Door 004",
        "Door 006",
        "Door 101",
        "Door 106",
    ]


def test_by_floor(tmp_path: Path) -> None:
    """Masters stand for floors, the lowest first."""
    schedule = draft(tmp_path, Grouping.FLOOR, services=False)
    notes = {key.name: key.note for key in schedule.keys}
    assert (notes["AA"], notes["AB"]) == ("master of Ground", "master of Upper")
    assert keys_of(schedule)["Door 104"] == ("AB3",)


def test_by_both(tmp_path: Path) -> None:
    """Departments are masters, floors are keys listed at each door."""
    schedule = draft(tmp_path, Grouping.BOTH, services=False)
    keys = keys_of(schedule)
    assert keys["Door 102"] == ("AA4", "FLOOR2")
    assert keys["Door 002"] == ("AB1", "FLOOR1")
    assert keys["Door 001"] == ("ENTRANCE",)
    assert schedule.chart is not None
    door = schedule.chart.door_index()["Door 102"]
    openers = {schedule.chart.keys[k].name for k in schedule.chart.openers[door]}
    assert openers == {"AA4", "AA", "FLOOR2", "TOP"}


def test_service_keys(tmp_path: Path) -> None:
    """Each service key opens its rooms and says which it leaves out, and why."""
    schedule = draft(tmp_path)
    told = {(s.service.value, s.judged.door.name): s.opens for s in schedule.services}
    assert told["CLEANING", "Door 002"]
    assert told["CLEANING", "Door 009"]
    assert not told["CLEANING", "Door 005"]  # money
    assert not told["CLEANING", "Door 008"]  # dangerous goods
    assert not told["CLEANING", "Door 104"]  # plant
    assert ("CLEANING", "Door 001") not in told  # an open area is not its business
    assert told["SECURITY", "Door 001"]
    assert told["SECURITY", "Door 007"]
    assert "CLEANING" in keys_of(schedule)["Door 002"]


def test_a_service_key_that_exists_already_is_not_proposed(tmp_path: Path) -> None:
    """The plant key would open the plant room alone, which its own key does; a note says so."""
    schedule = draft(tmp_path)
    same = {f.value("key"): f.value("other") for f in schedule.findings}
    assert same == {"PLANT": "A1", "INFOTECH": "A2"}
    assert not any(key.name in same for key in schedule.keys)


def test_a_department_of_one_room_has_no_master(tmp_path: Path) -> None:
    """Its master would be the room's key again, so the draft asks instead."""
    sheets = quay()
    sheets["Zone"].append(["Harbour office", "z", "104"])
    schedule = make_schedule(building(tmp_path, sheets), Grouping.ZONE)
    assert not any("Harbour" in key.note for key in schedule.keys)
    [question] = [q for q in schedule.questions if q.about == "Harbour office"]
    assert question.question.startswith("Shall Harbour office have a master?")


def asked(schedule: DraftSchedule, about: str) -> str:
    """The questions about one thing, in one text."""
    return " ".join(q.question for q in schedule.questions if q.about == about)


def test_questions(tmp_path: Path) -> None:
    """What the records do not say is asked, with what is assumed meanwhile."""
    sheets = quay()
    sheets["Zone"].append(["Trade", "z", "102"])
    sheets["Space"][4][3] = "Stock"  # the sail store; its category stays
    sheets["Space"][4][1] = "13-75 41 24: Hazardous Material Storage Space"
    sheets["Component"] += [
        ["Door P", "Plain", "103", "IfcDoor", "p"],
        ["Door Q", "Plain", "", "IfcDoor", "q"],
        ["Door R", "Plain", "102, 002", "IfcDoor", "r"],
        ["Door S", "Plain", "105, 107", "IfcDoor", "s"],
    ]
    sheets["Space"].append(["107", "Room", "Upper", "Closet"])
    schedule = make_schedule(building(tmp_path, sheets), Grouping.ZONE)
    assert "lead outdoors" in asked(schedule, "Door P")
    assert "Which rooms does this door join" in asked(schedule, "Door Q")
    assert "Upper" in asked(schedule, "Door R")
    assert "reached only through 105 Server room" in asked(schedule, "Door S")
    assert "Craft and Trade" in asked(schedule, "102 Loft 1")
    assert "dangerous goods" in asked(schedule, "003 Stock")
    assert "its own key alone" in asked(schedule, "005 Till and cash")
    assert all(q.assumed for q in schedule.questions)


@pytest.mark.parametrize("by", list(Grouping))
@pytest.mark.parametrize("services", [True, False])
def test_the_workbook_reads_back(tmp_path: Path, by: Grouping, services: bool) -> None:
    """The chart stage reads from the workbook exactly the chart that the draft means, without a
    caution, and writing it again loses nothing.
    """
    schedule = draft(tmp_path, by, services)
    path = tmp_path / "draft.xlsx"
    write_schedule(schedule, path)
    read = read_chart(path)
    assert read.chart == schedule.chart
    assert {finding.severity for finding in read.findings} <= {Severity.NOTE}
    assert read.chart is not None
    write_chart(read.chart, tmp_path / "again.xlsx")
    assert read_chart(tmp_path / "again.xlsx").chart == read.chart


def test_the_workbook_as_people_see_it(tmp_path: Path) -> None:
    """Every door is in exactly one of two sheets, with side, reason and caution; the cautions are
    there; no cell starts a formula; the same draft gives the same bytes.
    """
    schedule = draft(tmp_path, Grouping.BOTH)
    paths = [tmp_path / "one.xlsx", tmp_path / "two.xlsx"]
    for path in paths:
        write_schedule(schedule, path)
    assert paths[0].read_bytes() == paths[1].read_bytes()
    book = openpyxl.load_workbook(paths[0])
    names = ["doors", "keys", "no cylinder", "service keys", "open questions", "read me first"]
    assert book.sheetnames == names
    keyed = {row[0] for row in book["doors"].iter_rows(min_row=2, values_only=True)}
    apart = {row[0] for row in book["no cylinder"].iter_rows(min_row=2, values_only=True)}
    assert not keyed & apart
    assert len(keyed | apart) == 18
    rows = {row[0]: row for row in book["doors"].iter_rows(min_row=2, values_only=True)}
    assert rows["Door 005"][4:7] == (
        "005 Till and cash",
        "002 Office",
        "reached only through the other side",
    )
    assert "without a key" in str(rows["Door 001"][-1])
    told = " ".join(str(row[1]) for row in book["read me first"].iter_rows(values_only=True))
    for words in ("Authorised work only", "NFPA 101", "NFPA 80", "fire-service", "jurisdiction"):
        assert words in told
    cells = [cell for page in book for row in page.iter_rows() for cell in row]
    assert {cell.data_type for cell in cells if cell.value is not None} == {"s"}


def test_order_of_rows_does_not_matter(tmp_path: Path) -> None:
    """Shuffled sheets draft the same schedule, byte for byte."""
    sheets = {name: [grid[0], *grid[:0:-1]] for name, grid in quay().items()}
    one, two = draft(tmp_path), make_schedule(building(tmp_path, sheets))
    write_schedule(one, tmp_path / "one.xlsx")
    write_schedule(two, tmp_path / "two.xlsx")
    assert (tmp_path / "one.xlsx").read_bytes() == (tmp_path / "two.xlsx").read_bytes()


def test_nothing_to_key(tmp_path: Path) -> None:
    """A building whose doors all want no cylinder gives a fault and no chart."""
    sheets = quay()
    sheets["Component"] = [sheets["Component"][0], ["T", "Plain", "001, 004", "IfcDoor", "t"]]
    schedule = make_schedule(building(tmp_path, sheets))
    assert schedule.chart is None
    assert faults(schedule.findings) == ["draft-nothing-to-key"]


def test_without_zones_and_floors(tmp_path: Path) -> None:
    """A workbook without departments or floors still drafts; all keys stand under the top."""
    sheets = quay()
    del sheets["Zone"]
    del sheets["Floor"]
    for by in Grouping:
        schedule = make_schedule(building(tmp_path, sheets), by)
        assert schedule.chart is not None
        masters = {key.note for key in schedule.keys if key.name in ("AA", "AB")}
        expected = {"master of Ground", "master of Upper"} if by is Grouping.FLOOR else set()
        assert masters == expected
