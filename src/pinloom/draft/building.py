"""A building as its handover records tell it: floors, rooms, departments and doors.

The record is the same whether it came from a COBie workbook or from an IFC model. Names are tidied;
where the source wrote a name otherwise, ``written`` keeps its own spelling for giving data back.
"""

from dataclasses import dataclass, field

from pinloom.core.findings import Finding, Place


@dataclass(frozen=True, slots=True, kw_only=True)
class Room:
    """One room. ``zones`` are its departments in the order of the source."""

    name: str
    title: str = ""  # what people call it
    category: str = ""  # classification as written, e.g. "13-85 11 11: Corridor"
    floor: str = ""
    zones: tuple[str, ...] = ()
    place: Place = field(default_factory=Place)

    @property
    def label(self) -> str:
        """Number and title, as a customer would point at it."""
        return f"{self.name} {self.title}" if self.title and self.title != self.name else self.name


@dataclass(frozen=True, slots=True, kw_only=True)
class BuildingDoor:
    """One door. ``sides`` = one or two rooms by name, or none where the source is silent."""

    name: str
    written: str  # name as the source has it
    type_name: str = ""
    type_text: str = ""  # the type's own description
    sides: tuple[str, ...] = ()
    identifier: str = ""  # the model's own, empty when it has none
    place: Place = field(default_factory=Place)


@dataclass(frozen=True, slots=True, kw_only=True)
class Building:
    """A building in natural order of its names, whatever the order of the source."""

    name: str
    floors: tuple[str, ...]  # from the lowest up where the source gives heights
    rooms: tuple[Room, ...]
    doors: tuple[BuildingDoor, ...]
    source: str  # "COBie" or "IFC"

    def room_index(self) -> dict[str, Room]:
        """Room name -> room."""
        return {room.name: room for room in self.rooms}

    def zones(self) -> tuple[str, ...]:
        """All departments in use, by name."""
        return tuple(sorted({zone for room in self.rooms for zone in room.zones}))


@dataclass(frozen=True, slots=True, kw_only=True)
class BuildingRead:
    """The building, or None when the findings hold a fault that leaves no doors to draft for."""

    building: Building | None
    findings: tuple[Finding, ...]
