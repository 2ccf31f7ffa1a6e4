"""Kinds of rooms, protected sides, doors without a cylinder, cautions."""

from pathlib import Path

import pytest

from pinloom.draft.building import Room
from pinloom.draft.judged import Apart, Egress, Judged, Plan, Why
from pinloom.draft.kinds import RoomKind, kind_of
from tests.draft.kit import building, quay


@pytest.mark.parametrize(
    ("title", "category", "kind", "because"),
    [
        ("COMM. ROOM", "13-15 11 34 11: Office", RoomKind.INFORMATION, "title"),
        ("PHARM. DISP.", "13-75 11 11: Storage Room", RoomKind.MEDICINES, "title"),
        ("PHARM. OFFICE", "13-15 11 34 11: Office", RoomKind.OFFICE, "title"),
        ("FITTING / DISP.", "13-41 41 99: Other Healing Spaces", RoomKind.ORDINARY, ""),
        ("JAN. CL.", "13-75 11 11: Storage Room", RoomKind.CLEANING, "title"),
        ("ELEC. CL.", "13-81 21 21: Electrical Room", RoomKind.PLANT, "title"),
        ("ELEV. EQUIP.", "13-81 21 11: Equipment Room", RoomKind.PLANT, "title"),
        ("ELEVATOR", "13-81 21 31: Elevator Shaft", RoomKind.LIFT, "title"),
        ("RECS / FORMS STORAGE", "13-75 11 11: Storage Room", RoomKind.RECORDS, "title"),
        ("MECH. YARD", "13-81 11 99: Other", RoomKind.OUTDOORS, "title"),
        ("FLAMABLE STORAGE", "", RoomKind.HAZARD, "title"),
        ("M. STAFF Locker/TOILET", "", RoomKind.TOILET, "title"),
        ("", "13-85 21 11: Stairway", RoomKind.STAIR, "category"),
        ("A12", "13-85 11 11: Corridor", RoomKind.CIRCULATION, "category"),
        ("A13", "Storage", RoomKind.STORE, "category"),
        ("A14", "SL_20_15_59 : Offices", RoomKind.OFFICE, "category"),
        ("CENTRAL WAITING", "", RoomKind.WAITING, "title"),
        ("Unheard of", "", RoomKind.ORDINARY, ""),
    ],
)
def test_kinds(title: str, category: str, kind: RoomKind, because: str) -> None:
    """The title decides, then the category; what neither tells is an ordinary room."""
    found = kind_of(Room(name="1", title=title, category=category))
    assert (found.kind, found.because) == (kind, because)


def judged(folder: Path) -> dict[str, Judged]:
    """The judgement on every door of the quay."""
    plan = Plan(building(folder))
    return {door.name: plan.judge(door) for door in plan.building.doors}


@pytest.mark.parametrize(
    ("door", "inside", "why", "apart", "egress"),
    [
        ("Door 001", "001", Why.OUTDOORS, None, Egress.EXIT),
        ("Door 002", "002", Why.OPEN, None, None),
        ("Door 003A", "003", Why.NAMED, None, None),
        ("Door 004", "004", Why.OPEN, Apart.TOILET, None),
        ("Door 005", "005", Why.INNER, None, None),
        ("Door 006", "001", Why.NONE, Apart.OPEN, Egress.STAIR),
        ("Door 007", "007", Why.OUTDOORS, None, Egress.EXIT),
        ("Door 008", "008", Why.INNER, None, None),
        ("Door 009", "009", Why.INNER, None, None),
        ("Door 106", "106", Why.INNER, Apart.SUITE, None),
    ],
)
def test_doors_of_the_quay(
    tmp_path: Path,
    door: str,
    inside: str,
    why: Why,
    apart: Apart | None,
    egress: Egress | None,
) -> None:
    """Each rule decides the door that is made for it."""
    found = judged(tmp_path)[door]
    assert found.inside is not None
    assert (found.inside.name, found.why) == (inside, why)
    assert (found.apart, found.egress) == (apart, egress)


def test_the_more_restricted_side(tmp_path: Path) -> None:
    """Between two rooms as near to the open ones, the restricted kind is protected."""
    sheets = quay()
    sheets["Component"].append(["Door K", "Plain", "104, 103", "IfcDoor", "id-k"])
    plan = Plan(building(tmp_path, sheets))
    found = next(plan.judge(door) for door in plan.building.doors if door.name == "Door K")
    assert found.inside is not None
    assert (found.inside.name, found.why) == ("104", Why.KIND)


def test_one_room_and_no_word_of_outdoors(tmp_path: Path) -> None:
    """A door with one room is taken as an outer door, on the word of nobody."""
    sheets = quay()
    sheets["Component"].append(["Door L", "Plain", "103", "IfcDoor", "id-l"])
    plan = Plan(building(tmp_path, sheets))
    found = next(plan.judge(door) for door in plan.building.doors if door.name == "Door L")
    assert (found.why, found.apart, found.egress) == (Why.ONLY, None, Egress.EXIT)


@pytest.mark.parametrize(
    ("sides", "kind", "apart"),
    [
        ("102, 102", "Plain", Apart.ONE_ROOM),
        ("", "Plain", Apart.NOWHERE),
        ("004", "Plain", Apart.TOILET),
        ("103, 102", "Fold", Apart.SUITE),
    ],
)
def test_doors_apart(tmp_path: Path, sides: str, kind: str, apart: Apart) -> None:
    """Partitions, doors of no room, cubicles and doors inside one room take no cylinder."""
    sheets = quay()
    sheets["Type"].append(["Fold", "23-30 10: Doors", "Folding partition"])
    sheets["Component"].append(["Door M", kind, sides, "IfcDoor", "id-m"])
    plan = Plan(building(tmp_path, sheets))
    found = next(plan.judge(door) for door in plan.building.doors if door.name == "Door M")
    assert found.apart is apart


def test_a_waiting_room_of_nobody_is_open(tmp_path: Path) -> None:
    """A waiting room of a department is closed, one of open areas alone is open."""
    sheets = quay()
    sheets["Space"] += [
        ["201", "Room", "Ground", "Waiting"],
        ["202", "Room", "Ground", "Craft waiting"],
    ]
    sheets["Zone"] += [["Common", "z", "201"], ["Craft", "z", "202"]]
    plan = Plan(building(tmp_path, sheets))
    assert plan.is_open(plan.rooms["201"])
    assert not plan.is_open(plan.rooms["202"])
    assert plan.department(plan.rooms["201"]) == ""
