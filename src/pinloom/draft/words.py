"""What the drafted workbook says to people, in one place.

Findings are worded in the package's messages; these are the texts of the sheets themselves.
"""

from pinloom.draft.judged import Apart, Egress
from pinloom.draft.kinds import RoomKind
from pinloom.draft.services import Service

TOP_NOTE = "top master: every door"
MASTER_NOTE = "master of {group}"
FLOOR_NOTE = "all doors on {floor}"
ENTRANCE_NOTE = "all outer doors into corridors, stairs and lobbies, keyed alike"
SERVICE_NOTES = {
    Service.CLEANING: "cleaning, proposed: see the sheet service keys",
    Service.PLANT: "plant, proposed: see the sheet service keys",
    Service.INFORMATION: "information technology, proposed: see the sheet service keys",
    Service.SECURITY: "security round, proposed: see the sheet service keys",
}

#: why a service key stays out of a kind of room
LEFT_OUT = {
    RoomKind.MEDICINES: "medicines: cleaned and checked in company of their keeper",
    RoomKind.RECORDS: "records: entered in company of their keeper",
    RoomKind.MONEY: "money: entered in company of its keeper",
    RoomKind.HAZARD: "dangerous goods: instructed persons only",
    RoomKind.PLANT: "plant: instructed persons only",
    RoomKind.INFORMATION: "information technology: its own staff only",
}

EGRESS_CAUTION = {
    Egress.EXIT: "EXIT: must open from the inside without a key",
    Egress.STAIR: "STAIR: egress and re-entry rules; often a fire door",
    Egress.CORRIDOR: "CROSS-CORRIDOR: often a fire door on the way out",
}

APART = {
    Apart.OPEN: "passage set",
    Apart.ONE_ROOM: "no lock",
    Apart.TOILET: "privacy set",
    Apart.SUITE: "passage set",
    Apart.NOWHERE: "not drafted",
}


def _paragraphs(text: str) -> tuple[str, ...]:
    return tuple(" ".join(one.split()) for one in text.strip().split("\n\n"))


CAUTIONS = _paragraphs(
    """
This is a first draft from the building's records. A person who knows the building goes through
every door before anything is designed or ordered.

Authorised work only: have the owner's written authority first.

An egress door opens from the inside without key, tool, special knowledge or effort (NFPA 101
7.2.1.5 and IBC 1010.2, as published guides give them). Doors on the way out are marked as far
as the records show them; the records do not show every one.

No double-cylinder lock on a door that is a way out.

Job-site changes to fire doors are limited (NFPA 80, as published guides give it). The records
do not say which doors are fire doors.

Keep lift and fire-service keys off the system, and put the new keys into fire-service key boxes
before the rekey.

Service keys cross departments. Each lowers security and takes room from the system; at most one
system-wide is recommended (ANSI/BHMA A156.28-2018, extract).

Local codes, the authority having jurisdiction and licensed practice decide.
"""
)

HOW_TO_USE = _paragraphs(
    """
doors: one row a cylinder. Columns in round brackets explain and are not read. Write in keys the
lowest keys that open the door, separated by blanks; masters above them open it too.

except: masters above that must not open the door; NMK means all of them.

keys: one row a key; under names the master above it.

no cylinder: doors left out, with the reason. To key one after all, copy its door and keys into
the sheet doors.

service keys: what each proposed key opens and what it leaves out. To drop one, delete its row
in keys and its name in doors.

Then give this workbook to pinloom design.
"""
)
