"""Oddities of a building that show only when its parts are seen together."""

import re

from pinloom.core.findings import Place, caution, note
from pinloom.draft.building import Building, BuildingDoor, Room
from pinloom.draft.kinds import RoomKind, kind_of
from pinloom.draft.report import Report

#: rooms that are on one floor in the records and reach others
_BETWEEN_FLOORS = frozenset({RoomKind.STAIR, RoomKind.LIFT})
_MOST = 12  # names listed in one finding


def check_shape(building: Building, report: Report) -> None:
    """Doors that join what does not meet, doors named after another room, rooms left over."""
    rooms = building.room_index()
    for door in building.doors:
        _check_door(door, rooms, report)
    _check_rooms(building, report)


def _check_door(door: BuildingDoor, rooms: dict[str, Room], report: Report) -> None:
    sides = [rooms[side] for side in door.sides]
    if len(sides) == 2 and sides[0] is sides[1]:
        report.add(note("draft-door-one-room", door.place, door=door.name, room=sides[0].name))
    floors = list(dict.fromkeys(room.floor for room in sides if room.floor))
    if len(floors) > 1 and not any(kind_of(room).kind in _BETWEEN_FLOORS for room in sides):
        report.add(
            caution(
                "draft-door-floors",
                door.place,
                door=door.name,
                rooms=" and ".join(room.label for room in sides),
                floors=" and ".join(floors),
            )
        )
    other = _named_after(door, rooms)
    if other and door.sides and other not in door.sides:
        where = " and ".join(dict.fromkeys(door.sides))
        report.add(note("draft-door-misnamed", door.place, door=door.name, room=other, sides=where))


def _named_after(door: BuildingDoor, rooms: dict[str, Room]) -> str:
    """The room whose name stands in the door's name as a word, if there is one."""
    for word in re.split(r"[^\w.-]+", door.name):
        if word in rooms:
            return word
    return ""


def _check_rooms(building: Building, report: Report) -> None:
    entered = {side for door in building.doors for side in door.sides}
    place = _sheet_of(building)
    alone = [room.name for room in building.rooms if room.name not in entered]
    if alone and building.doors:
        report.add(note("draft-rooms-without-door", place, count=len(alone), rooms=listed(alone)))
    loose = [room.name for room in building.rooms if not room.zones]
    if loose and len(loose) < len(building.rooms):
        report.add(note("draft-rooms-without-zone", place, count=len(loose), rooms=listed(loose)))


def _sheet_of(building: Building) -> Place:
    first = building.rooms[0].place if building.rooms else Place()
    return Place(file=first.file, sheet=first.sheet)


def listed(names: list[str]) -> str:
    """Names in a sentence, the first few and how many more."""
    more = f" and {len(names) - _MOST} more" if len(names) > _MOST else ""
    return ", ".join(names[:_MOST]) + more
