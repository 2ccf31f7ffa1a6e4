"""An IFC model (ISO 16739) to the same building record, through the optional library ifcopenshell.

What is used: IfcBuilding, IfcBuildingStorey, IfcSpace (Name = number, LongName = title), IfcZone as
departments, classifications as categories, IfcDoor with its type, and space boundaries, which say
which spaces a door joins. Pset_DoorCommon says which doors lead outdoors or are fire exits.
The library is large, so it is imported only here and only when a model is read.
"""

from collections import defaultdict
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from pinloom.core.findings import Place, caution, fault, note
from pinloom.core.names import clean, natural
from pinloom.draft.building import Building, BuildingDoor, BuildingRead, Room
from pinloom.draft.report import Report
from pinloom.draft.shape import check_shape

#: what the library raises on files that are no sound model, besides its own error
_DAMAGE = (OSError, RuntimeError, ValueError, KeyError, IndexError, AttributeError, TypeError)


def read_ifc(path: Path) -> BuildingRead:
    """Read a model; without the library, or with a damaged file, a fault and no building."""
    place = Place(file=path.name)
    try:
        import ifcopenshell
    except ImportError:
        return BuildingRead(building=None, findings=(fault("draft-ifc-extra", place),))
    if not path.is_file():
        return BuildingRead(building=None, findings=(fault("draft-file-missing", place),))
    try:
        model = ifcopenshell.open(str(path))
        return _Model(model, path).read()
    except (ifcopenshell.Error, *_DAMAGE):
        return BuildingRead(building=None, findings=(fault("draft-ifc-damaged", place),))


class _Model:
    def __init__(self, model: Any, path: Path) -> None:
        self._model = model
        self._file = path.name
        self._stem = path.stem
        self._report = Report()

    def read(self) -> BuildingRead:
        floors = self._floors()
        spaces, rooms = self._rooms()
        doors = self._doors(spaces)
        if not doors:
            self._report.add(fault("draft-no-doors", self._place("IfcDoor")))
        names = [clean(one.Name or "") for one in self._model.by_type("IfcBuilding")]
        building = Building(
            name=next((name for name in names if name), self._stem),
            floors=tuple(sorted(floors, key=lambda f: (floors[f], natural(f)))),
            rooms=tuple(sorted(rooms, key=lambda room: natural(room.name))),
            doors=tuple(sorted(doors, key=lambda door: natural(door.name))),
            source="IFC",
        )
        check_shape(building, self._report)
        findings = self._report.findings()
        return BuildingRead(building=building if doors and rooms else None, findings=findings)

    def _place(self, kind: str, one: Any = None) -> Place:
        return Place(file=self._file, sheet=kind, column=one.GlobalId if one is not None else "")

    def _floors(self) -> dict[str, float]:
        return {
            clean(storey.Name): float(storey.Elevation or 0)
            for storey in self._model.by_type("IfcBuildingStorey")
            if clean(storey.Name or "")
        }

    def _rooms(self) -> tuple[dict[str, str], list[Room]]:
        """GlobalId of a space -> room name, and the rooms."""
        zones = self._zones()
        spaces: dict[str, str] = {}
        rooms: dict[str, Room] = {}
        for space in self._model.by_type("IfcSpace"):
            name = clean(space.Name or "") or clean(space.LongName or "")
            place = self._place("IfcSpace", space)
            if not name:
                self._report.add(caution("draft-name-missing", place))
                continue
            spaces[space.GlobalId] = name
            if name in rooms:
                first = rooms[name].place
                self._report.add(caution("draft-name-twice", place, first, kind="room", name=name))
                continue
            rooms[name] = Room(
                name=name,
                title=clean(space.LongName or ""),
                category=_category(space),
                floor=_storey(space),
                zones=tuple(zones.get(space.GlobalId, ())),
                place=place,
            )
            if not rooms[name].floor:
                self._report.add(caution("draft-room-floor", place, room=name))
        if not rooms:
            self._report.add(fault("draft-sheet-empty", self._place("IfcSpace"), sheet="IfcSpace"))
        return spaces, list(rooms.values())

    def _zones(self) -> dict[str, list[str]]:
        """GlobalId of a space -> its departments."""
        zones: dict[str, list[str]] = defaultdict(list)
        for zone in sorted(self._model.by_type("IfcZone"), key=lambda z: natural(z.Name or "")):
            name = clean(zone.Name or "")
            if not name:
                self._report.add(caution("draft-name-missing", self._place("IfcZone", zone)))
                continue
            for relation in zone.IsGroupedBy or ():
                for member in relation.RelatedObjects:
                    if member.is_a("IfcSpace") and name not in zones[member.GlobalId]:
                        zones[member.GlobalId].append(name)
        return zones

    def _doors(self, spaces: dict[str, str]) -> list[BuildingDoor]:
        sides = self._sides(spaces)
        doors: dict[str, BuildingDoor] = {}
        for door in self._model.by_type("IfcDoor"):
            place = self._place("IfcDoor", door)
            written = door.Name or door.Tag or ""
            name = self._own_name(clean(written), doors, place)
            if not name:
                continue
            joined = sides.get(door.GlobalId, [])
            if not joined:
                self._report.add(caution("draft-door-nowhere", place, door=name))
            if len(joined) > 2:
                rest = ", ".join(joined[2:])
                count = len(joined)
                self._report.add(
                    caution("draft-door-sides", place, door=name, count=count, rest=rest)
                )
            doors[name] = _door(door, name, written, tuple(joined[:2]), place)
        return list(doors.values())

    def _own_name(self, name: str, doors: dict[str, BuildingDoor], place: Place) -> str:
        if not name:
            self._report.add(caution("draft-name-missing", place))
            return ""
        fresh, number = name, 2
        while fresh in doors:
            fresh, number = f"{name} ({number})", number + 1
        if fresh != name:
            first = doors[name].place
            self._report.add(caution("draft-door-twice", place, first, door=name, fresh=fresh))
        return fresh

    def _sides(self, spaces: dict[str, str]) -> dict[str, list[str]]:
        """GlobalId of a door -> the rooms that it bounds, in natural order."""
        sides: dict[str, set[str]] = defaultdict(set)
        for boundary in self._model.by_type("IfcRelSpaceBoundary"):
            element, space = boundary.RelatedBuildingElement, boundary.RelatingSpace
            if element is None or not element.is_a("IfcDoor") or space is None:
                continue
            if space.GlobalId in spaces:
                sides[element.GlobalId].add(spaces[space.GlobalId])
            elif not space.is_a("IfcSpace"):
                place = self._place("IfcDoor", element)
                door = clean(element.Name or "")
                self._report.add(note("draft-ifc-outside", place, door=door))
        return {door: sorted(rooms, key=natural) for door, rooms in sides.items()}


def _door(door: Any, name: str, written: str, sides: tuple[str, ...], place: Place) -> BuildingDoor:
    kind = next((r.RelatingType for r in _relations(door, "IfcRelDefinesByType")), None)
    words = [clean(kind.Description or "") if kind is not None else ""]
    properties = dict(_properties(door, "Pset_DoorCommon"))
    if properties.get("IsExternal") is True:
        words.append("exterior")
    if properties.get("FireExit") is True:
        words.append("fire exit")
    return BuildingDoor(
        name=name,
        written=written,
        type_name=clean(kind.Name or "") if kind is not None else "",
        type_text=", ".join(word for word in words if word),
        sides=sides,
        identifier=door.GlobalId,
        place=place,
    )


def _relations(thing: Any, kind: str) -> Iterator[Any]:
    """Relations that define an object, in both schemas: IFC4 keeps types apart from properties."""
    for name in ("IsTypedBy", "IsDefinedBy"):
        for relation in getattr(thing, name, None) or ():
            if relation.is_a(kind):
                yield relation


def _properties(thing: Any, wanted: str) -> Iterator[tuple[str, object]]:
    for relation in _relations(thing, "IfcRelDefinesByProperties"):
        table = relation.RelatingPropertyDefinition
        if table.is_a("IfcPropertySet") and table.Name == wanted:
            for one in table.HasProperties:
                if one.is_a("IfcPropertySingleValue") and one.NominalValue is not None:
                    yield one.Name, one.NominalValue.wrappedValue


def _category(space: Any) -> str:
    """The classification as COBie writes it: number, colon, title."""
    for relation in space.HasAssociations or ():
        if relation.is_a("IfcRelAssociatesClassification"):
            reference = relation.RelatingClassification
            number = getattr(reference, "Identification", None) or getattr(
                reference, "ItemReference", None
            )
            return ": ".join(clean(part) for part in (number, reference.Name) if part)
    return ""


def _storey(space: Any) -> str:
    """The storey that a space is part of, directly or through another space."""
    parts = space.Decomposes
    while parts:
        whole = parts[0].RelatingObject
        if whole.is_a("IfcBuildingStorey"):
            return clean(whole.Name or "")
        parts = getattr(whole, "Decomposes", ())
    return ""
