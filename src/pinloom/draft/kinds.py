"""What kind of room a room is, as far as its title and its category tell.

The kinds decide which side of a door is protected, which doors want no cylinder and which service
keys are proposed, so a wrong guess is cheap to see and to mend: the draft says why for every door.

Rules, tried in this order; the first that speaks decides.
1. Words of the title (what people call the room), most restricted kinds first. English, with the
   abbreviations common on floor plans (common practice, no source).
2. The number of the category in OmniClass table 13 (spaces by function), as it occurs in published
   building records: 13-85 circulation, 13-85 21 stairs, 13-81 21 plant, 13-75 storage, 13-51 31
   waiting, 13-41 11 14 21 restroom; other numbers say nothing.
3. Words of the category.
4. An ordinary room.
"""

import re
from dataclasses import dataclass
from enum import Enum

from pinloom.draft.building import Room


class RoomKind(Enum):
    """What a room is to the person who keys it; the value is how it is named to people."""

    OUTDOORS = "outdoors"
    STAIR = "stair"
    LIFT = "lift"
    CIRCULATION = "corridor or lobby"
    WAITING = "waiting room"
    SHARED = "shared room"
    TOILET = "toilet"
    ORDINARY = "room"
    OFFICE = "office"
    STORE = "store"
    CLEANING = "cleaning room"
    PLANT = "plant room"
    INFORMATION = "information technology room"
    HAZARD = "store of dangerous goods"
    RECORDS = "records"
    MEDICINES = "medicines"
    MONEY = "money"


PUBLIC = frozenset({RoomKind.OUTDOORS, RoomKind.STAIR, RoomKind.LIFT, RoomKind.CIRCULATION})

#: how far from the public a kind is; the higher side of a door is the protected one
_RANKS = {
    RoomKind.OUTDOORS: 0,
    RoomKind.STAIR: 1,
    RoomKind.LIFT: 1,
    RoomKind.CIRCULATION: 2,
    RoomKind.WAITING: 3,
    RoomKind.SHARED: 4,
    RoomKind.TOILET: 4,
    RoomKind.ORDINARY: 5,
    RoomKind.OFFICE: 5,
    RoomKind.STORE: 5,
    RoomKind.CLEANING: 5,
    RoomKind.PLANT: 6,
    RoomKind.INFORMATION: 6,
    RoomKind.HAZARD: 6,
    RoomKind.RECORDS: 7,
    RoomKind.MEDICINES: 7,
    RoomKind.MONEY: 7,
}

_TITLE_WORDS: tuple[tuple[RoomKind, str], ...] = (
    (RoomKind.MONEY, r"cash(ier)?\b|money|strong ?room|\bvault\b|safe room"),
    (
        RoomKind.MEDICINES,
        (
            r"\bpharm\w*\.?[ /]*(disp|sto|vault)|dispensary|\bdrugs?\b|medicines?\b|medication"
            r"|narcotic"
        ),
    ),
    (RoomKind.RECORDS, r"\brecords?\b|\brecs\b|archive|credentials? file"),
    (RoomKind.OUTDOORS, r"^roof\b|^site$|\byard$|loading dock|^outside\b|^terrace\b|\bbalcony\b"),
    (RoomKind.HAZARD, r"\bhaz\b|hazard|flamm?able|\bgas stor|\bchemicals?\b|\boxygen\b"),
    (
        RoomKind.INFORMATION,
        (
            r"\bcomm(unications?)?\.? (room|closet|cl\b)|\bcomputer\b|\bserver\b|\bdata\b|\badp\b"
            r"|telecom|\bnetwork\b"
        ),
    ),
    (
        RoomKind.PLANT,
        (
            r"\belec(trical)?\b|switch ?gear|\bmech(anical)?\b|\bplant\b|boiler|\bpump\b|meter room"
            r"|\b(elev(ator)?|lift)\b\.? (equip|motor|mach)|penthouse"
        ),
    ),
    (RoomKind.CLEANING, r"\bjan(itor)?\b|janitor|house ?keeping|\bhk\b|cleaners?\b|cleaning"),
    (RoomKind.LIFT, r"^(elevator|lift)( shaft)?\b"),
    (RoomKind.STAIR, r"\bstairs?(way|well|case)?\b"),
    (RoomKind.TOILET, r"toilets?\b|\bwc\b|rest ?room|wash ?room|lavator|\bshowers?\b"),
    (RoomKind.CIRCULATION, r"corridor|hall(way)?\b|\blobby\b|\bvest(ibule)?\b|\bpassage\b"),
    (RoomKind.WAITING, r"\bwait(ing)?\b"),
    (
        RoomKind.SHARED,
        (
            r"lounge|break room|kitchen|canteen|reception|recept\b|\bconf(erence)?\b|meeting"
            r"|classroom|library|\bcopy\b|locker"
        ),
    ),
    (RoomKind.OFFICE, r"\boffice|\boff\b"),
    (RoomKind.STORE, r"stor(e|age)\b|\bsto\b|\btrash\b|soil|linen|\bsupply\b"),
)

_NUMBERS: tuple[tuple[RoomKind, str], ...] = (
    (RoomKind.STAIR, "13-85 21"),
    (RoomKind.CIRCULATION, "13-85"),
    (RoomKind.LIFT, "13-81 21 31"),
    (RoomKind.PLANT, "13-81 21"),
    (RoomKind.TOILET, "13-41 11 14 21"),
    (RoomKind.HAZARD, "13-75 41 24"),
    (RoomKind.STORE, "13-75"),
    (RoomKind.WAITING, "13-51 31"),
    (RoomKind.SHARED, "13-51 11 21"),
    (RoomKind.SHARED, "13-11 21 17"),
    (RoomKind.SHARED, "13-11 11 31"),
    (RoomKind.OFFICE, "13-15 11 34 11"),
    (RoomKind.OUTDOORS, "13-91"),
)

_TITLES = tuple((kind, re.compile(words, re.IGNORECASE)) for kind, words in _TITLE_WORDS)


@dataclass(frozen=True, slots=True, kw_only=True)
class Kind:
    """The kind of a room, and what told it: the title, the category, or nothing."""

    kind: RoomKind
    because: str

    @property
    def rank(self) -> int:
        """How far from the public the room is."""
        return _RANKS[self.kind]

    @property
    def is_public(self) -> bool:
        """Whether anyone who is in the building may be there."""
        return self.kind in PUBLIC


def kind_of(room: Room) -> Kind:
    """The kind of a room by its title, then its category."""
    for kind, words in _TITLES:
        if words.search(room.title):
            return Kind(kind=kind, because="title")
    number, _, words_of_category = room.category.partition(":")
    for kind, start in _NUMBERS:
        if number.strip().startswith(start):
            return Kind(kind=kind, because="category")
    for kind, words in _TITLES:
        if words.search(words_of_category or room.category):
            return Kind(kind=kind, because="category")
    return Kind(kind=RoomKind.ORDINARY, because="")
