"""COBie 2.4 to a building: facility, floors, rooms, departments, types of door.

What must hold: an oddity becomes a finding with its sheet and row, and whatever can still be read
is read. A department is a row of the sheet Zone for each of its rooms; a room may be in several.
"""

from collections import defaultdict
from pathlib import Path

from pinloom.core.findings import Place, caution, fault, note
from pinloom.core.names import clean, natural
from pinloom.draft.building import Building, BuildingDoor, BuildingRead, Room
from pinloom.draft.cobie_doors import DoorType, read_doors
from pinloom.draft.report import Report
from pinloom.draft.shape import check_shape
from pinloom.draft.table import Entry, Names, entry_name, read_table, split_rooms
from pinloom.draft.workbook import Workbook, read_workbook

SHEETS = ("Facility", "Floor", "Space", "Zone", "Type", "Component")


def read_cobie(path: Path) -> BuildingRead:
    """Read a workbook; every oddity is a finding, and a fault leaves no building."""
    book = read_workbook(path, SHEETS)
    if book.findings:
        return BuildingRead(building=None, findings=book.findings)
    report = Report()
    name = _facility(book, report)
    floors = _floors(book, report)
    rooms, room_names = _rooms(book, floors, report)
    zones = _zones(book, room_names, report)
    types = _types(book, report)
    doors = read_doors(book, types, room_names, report)
    rooms = [_with_zones(room, zones.get(room.name, ())) for room in rooms]
    if not doors:
        report.add(fault("draft-no-doors", Place(file=book.file, sheet="Component")))
    building = _build(name or path.stem, floors, rooms, doors)
    check_shape(building, report)
    return BuildingRead(building=building if doors and rooms else None, findings=report.findings())


def _build(
    name: str, floors: dict[str, float | None], rooms: list[Room], doors: list[BuildingDoor]
) -> Building:
    used = floors | {room.floor: None for room in rooms if room.floor and room.floor not in floors}
    return Building(
        name=name,
        floors=tuple(sorted(used, key=lambda f: (used[f] or 0.0, natural(f)))),
        rooms=tuple(sorted(rooms, key=lambda room: natural(room.name))),
        doors=tuple(sorted(doors, key=lambda door: natural(door.name))),
        source="COBie",
    )


def _with_zones(room: Room, zones: tuple[str, ...]) -> Room:
    return Room(
        name=room.name,
        title=room.title,
        category=room.category,
        floor=room.floor,
        zones=zones,
        place=room.place,
    )


def _facility(book: Workbook, report: Report) -> str:
    table = read_table(book, "Facility", ("Name", "ProjectName"), report)
    names = [
        (entry.text("ProjectName") or name)
        for entry in table.entries
        if (name := entry_name(entry, report))
    ]
    if len(names) > 1:
        place = table.entries[1].place
        report.add(caution("draft-facility-several", place, count=len(names), name=names[0]))
    return names[0] if names else ""


def _floors(book: Workbook, report: Report) -> dict[str, float | None]:
    """Floor -> height, or None where the sheet gives none."""
    table = read_table(book, "Floor", ("Name", "Elevation"), report)
    names = Names("floor")
    floors: dict[str, float | None] = {}
    for entry in table.entries:
        name = entry_name(entry, report)
        if name and names.enter(name, entry, report):
            floors[name] = _height(entry, report)
    return floors


def _height(entry: Entry, report: Report) -> float | None:
    text = entry.text("Elevation")
    if not text:
        return None
    try:
        height = float(text)
    except ValueError:
        height = float("nan")
    if not abs(height) < 1e6:  # also when it is no number
        report.add(caution("draft-height", entry.at("Elevation"), text=text))
        return None
    return height


def _rooms(
    book: Workbook, floors: dict[str, float | None], report: Report
) -> tuple[list[Room], Names]:
    columns = ("Name", "Category", "FloorName", "Description")
    table = read_table(book, "Space", columns, report, needed=True)
    names = Names("room")
    rooms: list[Room] = []
    for entry in table.entries:
        name = entry_name(entry, report)
        if not name or not names.enter(name, entry, report):
            continue
        if "," in name:
            report.add(caution("draft-room-comma", entry.at("Name"), room=name))
        rooms.append(
            Room(
                name=name,
                title=entry.text("Description"),
                category=_category(entry, name, table.missing, report),
                floor=_floor(entry, name, floors, table.missing, report),
                place=entry.place,
            )
        )
    return rooms, names


def _category(entry: Entry, room: str, missing: frozenset[str], report: Report) -> str:
    category = entry.text("Category")
    if not category and "Category" not in missing:
        report.add(note("draft-room-category", entry.at("Category"), room=room))
    return category


def _floor(
    entry: Entry,
    room: str,
    floors: dict[str, float | None],
    missing: frozenset[str],
    report: Report,
) -> str:
    floor = entry.text("FloorName")
    if floor in floors:
        return floor
    if not floor and "FloorName" not in missing:
        report.add(caution("draft-room-floor", entry.at("FloorName"), room=room))
    elif floor and floors:
        report.add(caution("draft-floor-unknown", entry.at("FloorName"), room=room, floor=floor))
    elif floor:
        return floor  # there is no sheet Floor, which has been told
    return ""


def _zones(book: Workbook, rooms: Names, report: Report) -> dict[str, tuple[str, ...]]:
    """Room -> departments in the order of the sheet."""
    table = read_table(book, "Zone", ("Name", "Category", "SpaceNames"), report)
    zones: dict[str, list[str]] = defaultdict(list)
    spelling: dict[str, str] = {}
    for entry in table.entries:
        name = entry_name(entry, report)
        if not name:
            continue
        known = spelling.setdefault(name.casefold(), name)
        if known != name:
            report.add(caution("draft-zone-case", entry.at("Name"), name=name, other=known))
        _zone_rooms(entry, known, rooms, zones, table.missing, report)
    for room, several in zones.items():
        if len(several) > 1:
            names = ", ".join(several)
            report.add(note("draft-room-zones", table.place, room=room, zones=names))
    return {room: tuple(several) for room, several in zones.items()}


def _zone_rooms(
    entry: Entry,
    zone: str,
    rooms: Names,
    zones: dict[str, list[str]],
    missing: frozenset[str],
    report: Report,
) -> None:
    place = entry.at("SpaceNames")
    text = entry.cells.get("SpaceNames", "")
    if not clean(text):
        if "SpaceNames" not in missing:
            report.add(caution("draft-zone-empty", place, zone=zone))
        return
    for room in split_rooms(text, rooms):
        found = rooms.find(room, place, report)
        if not found:
            continue
        if zone in zones[found]:
            report.add(note("draft-zone-twice", place, zone=zone, room=found))
        else:
            zones[found].append(zone)


def _types(book: Workbook, report: Report) -> dict[str, DoorType]:
    """Type name -> type. COBie lists types of everything; only those of doors matter later."""
    table = read_table(book, "Type", ("Name", "Category", "Description"), report)
    names = Names("type")
    types: dict[str, DoorType] = {}
    for entry in table.entries:
        name = entry_name(entry, report)
        if name and names.enter(name, entry, report):
            types[name] = DoorType(
                name=name,
                category=entry.text("Category"),
                description=entry.text("Description"),
                place=entry.at("Category"),
            )
    return types
