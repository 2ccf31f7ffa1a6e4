"""The doors of a COBie workbook.

A component is a door when ``ExtObject`` names an IFC door class, or when the category of its type
says so. Categories: OmniClass table 23 has doors at 23-30 10 (2006, as in the published clinic) and
at 23-17 11 (2012, from memory); Uniclass 2015 at Pr_30_59_24 (from memory); otherwise the word.
"""

import re
from dataclasses import dataclass

from pinloom.core.findings import Place, caution, note
from pinloom.draft.building import BuildingDoor
from pinloom.draft.report import Report
from pinloom.draft.table import Entry, Names, entry_name, read_table, split_rooms
from pinloom.draft.workbook import Workbook

_DOOR_CLASS = re.compile(r"ifcdoor(standardcase)?", re.IGNORECASE)
_DOOR_CODE = re.compile(r"(23-30 10|23-17 11|Pr_30_59_24)", re.IGNORECASE)
_DOOR_WORD = re.compile(r"\bdoors?(sets?)?\b", re.IGNORECASE)
#: parts and kin of doors that are no doors to key
_NOT_A_DOOR = re.compile(r"\bdoor\s+(hardware|frames?|closers?|stops?|hinges?)", re.IGNORECASE)

_COLUMNS = ("Name", "TypeName", "Space", "ExtObject", "ExtIdentifier")


@dataclass(frozen=True, slots=True, kw_only=True)
class DoorType:
    """A type of component; of doors when its category says so."""

    name: str
    category: str
    description: str
    place: Place  # of its category

    @property
    def is_door(self) -> bool:
        """Whether the category is one of doors."""
        if _NOT_A_DOOR.search(self.category):
            return False
        return bool(_DOOR_CODE.match(self.category) or _DOOR_WORD.search(self.category))


def read_doors(
    book: Workbook, types: dict[str, DoorType], rooms: Names, report: Report
) -> list[BuildingDoor]:
    """The doors among the components, each with a name of its own."""
    table = read_table(book, "Component", _COLUMNS, report, needed=True)
    type_names = {name.casefold(): name for name in types}
    taken: dict[str, Entry] = {}
    identifiers: dict[str, Entry] = {}
    doubted: set[str] = set()
    doors: list[BuildingDoor] = []
    for entry in table.entries:
        type_name = _known_type(entry, type_names)
        if not _is_door(entry, types.get(type_name), doubted, report):
            continue
        name = _door_name(entry, taken, report)
        if name:
            _check_type(entry, name, type_name, table.missing, report)
            _check_identifier(entry, identifiers, report)
            doors.append(_door(entry, name, types.get(type_name), rooms, table.missing, report))
    return doors


def _known_type(entry: Entry, type_names: dict[str, str]) -> str:
    return type_names.get(entry.text("TypeName").casefold(), "")


def _is_door(entry: Entry, kind: DoorType | None, doubted: set[str], report: Report) -> bool:
    """Whether a component is a door; where its two witnesses disagree, that is said, once a type
    when it is the category that is no door's.
    """
    written = entry.text("ExtObject")
    by_class = bool(_DOOR_CLASS.fullmatch(written))
    by_category = kind is not None and kind.is_door
    name = entry.text("Name")
    if by_class and kind is not None and not by_category and kind.name not in doubted:
        doubted.add(kind.name)
        report.add(
            caution("draft-door-category", kind.place, type=kind.name, category=kind.category)
        )
    if by_category and written and not by_class:
        report.add(caution("draft-door-class", entry.at("ExtObject"), door=name, text=written))
    return by_class or by_category


def _door_name(entry: Entry, taken: dict[str, Entry], report: Report) -> str:
    """The name, made different where the workbook uses it twice: a chart needs it so."""
    name = entry_name(entry, report)
    if not name:
        return ""
    if name not in taken:
        taken[name] = entry
        return name
    number = 2
    while f"{name} ({number})" in taken:
        number += 1
    fresh = f"{name} ({number})"
    first = taken[name].at("Name")
    report.add(caution("draft-door-twice", entry.at("Name"), first, door=name, fresh=fresh))
    taken[fresh] = entry
    return fresh


def _check_type(
    entry: Entry, name: str, type_name: str, missing: frozenset[str], report: Report
) -> None:
    text = entry.text("TypeName")
    if "TypeName" in missing or (text and type_name == text):
        return
    place = entry.at("TypeName")
    if not text:
        report.add(note("draft-door-type", place, door=name))
    elif type_name:
        report.add(caution("draft-reference-case", place, text=text, name=type_name))
    else:
        report.add(caution("draft-reference-unknown", place, kind="type", text=text))


def _check_identifier(entry: Entry, identifiers: dict[str, Entry], report: Report) -> None:
    """Two doors with one identifier: facility systems would take them for one."""
    identifier = entry.text("ExtIdentifier")
    if not identifier:
        return
    if identifier in identifiers:
        first = identifiers[identifier].at("ExtIdentifier")
        place = entry.at("ExtIdentifier")
        report.add(caution("draft-identifier-twice", place, first, text=identifier))
    identifiers.setdefault(identifier, entry)


def _door(
    entry: Entry,
    name: str,
    kind: DoorType | None,
    rooms: Names,
    missing: frozenset[str],
    report: Report,
) -> BuildingDoor:
    return BuildingDoor(
        name=name,
        written=entry.cells.get("Name", name),
        type_name=kind.name if kind else entry.text("TypeName"),
        type_text=kind.description if kind else "",
        sides=_sides(entry, name, rooms, missing, report),
        identifier=entry.text("ExtIdentifier"),
        place=entry.place,
    )


def _sides(
    entry: Entry, name: str, rooms: Names, missing: frozenset[str], report: Report
) -> tuple[str, ...]:
    place = entry.at("Space")
    text = entry.cells.get("Space", "")
    named = split_rooms(text, rooms)
    if not named:
        if "Space" not in missing:
            report.add(caution("draft-door-nowhere", place, door=name))
        return ()
    if any(part != part.strip(" ") for part in text.split(", ")):
        report.add(note("draft-reference-blanks", place, text=", ".join(named)))
    sides = [side for side in (rooms.find(room, place, report) for room in named) if side]
    if len(sides) > 2:
        rest = ", ".join(sides[2:])
        report.add(caution("draft-door-sides", place, door=name, count=len(sides), rest=rest))
    return tuple(sides[:2])
