"""Cylinders and cores: pinned, put at doors, kept as spares.

Pinned only from a revision that is proved and approved.
"""

from pinloom.core.findings import Finding, caution, fault, has_fault, note
from pinloom.ledger import details as d
from pinloom.ledger import lookup
from pinloom.ledger.events import EventKind
from pinloom.ledger.rows import CylinderRow, DoorRow, SystemRow
from pinloom.ledger.view import Writing, table_of, tidy


def pin(
    tx: Writing, system: str, door: str, *, mark: str = "", place: str = "", why: str = ""
) -> list[Finding]:
    """Cylinders were pinned for a door as the approved revision has it.

    Without ``mark``: every cylinder at the door, marked with the door's name and, where it has
    several, a number. With ``mark``: that cylinder or core; with ``place`` it is a
    spare kept there.
    """
    owner = lookup.system(tx, system)
    if isinstance(owner, Finding):
        return [owner]
    revision = lookup.revision(tx, owner, None)
    if isinstance(revision, Finding):
        return [revision]
    row = lookup.door(tx, owner, revision.number, door)
    if isinstance(row, Finding):
        return [row]
    marks = [tidy(mark)] if tidy(mark) else _marks(row)
    said: list[Finding] = []
    for one in marks:
        said += _pin_one(tx, row, one, tidy(place), why)
    return said


def _marks(row: DoorRow) -> list[str]:
    if row.count == 1:
        return [row.name]
    return [f"{row.name} ({index}/{row.count})" for index in range(1, row.count + 1)]


def _pin_one(tx: Writing, row: DoorRow, mark: str, place: str, why: str) -> list[Finding]:
    table = table_of(CylinderRow)
    known = tx.rows(CylinderRow, table.c.system == row.system, table.c.mark == mark)
    event = tx.append(
        EventKind.REPINNED if known else EventKind.PINNED,
        d.Pinned(mark=mark, revision=row.revision, pinning=row.pinning),
        system=row.system,
        subject=known[0].id if known else 0,
        name=row.name,
        why=why,
    )
    number = event.subject
    if place:
        tx.append(EventKind.PLACED, d.Placed(at=place), system=row.system, subject=number)
        return []
    if known and known[0].door == row.name:
        return []
    here = tx.rows(CylinderRow, table.c.system == row.system, table.c.door == row.name)
    if len(here) >= row.count:
        return [note("ledger-door-is-full", door=row.name, mark=mark)]
    tx.append(EventKind.PLACED, d.Placed(), system=row.system, subject=number, name=row.name)
    return []


def place(
    tx: Writing,
    system: str,
    mark: str,
    *,
    door: str = "",
    at: str = "",
    instead_of: str = "",
    old_to: str = "",
    why: str = "",
) -> list[Finding]:
    """A cylinder or core goes to a door or to a place; the one it replaces goes to ``old_to``."""
    owner = lookup.system(tx, system)
    if isinstance(owner, Finding):
        return [owner]
    row = lookup.cylinder(tx, owner, mark)
    if isinstance(row, Finding):
        return [row]
    if bool(tidy(door)) == bool(tidy(at)):
        return [fault("ledger-one-place")]
    if tidy(at):
        where = d.Placed(at=tidy(at))
        tx.append(EventKind.PLACED, where, system=owner.id, subject=row.id, why=why)
        return []
    there = lookup.door(tx, owner, owner.latest, door)
    if isinstance(there, Finding):
        return [there]
    said = _make_room(tx, owner, there, row, instead_of, old_to)
    if not has_fault(said):
        tx.append(
            EventKind.PLACED, d.Placed(), system=owner.id, subject=row.id, name=there.name, why=why
        )
        if row.pinned_for != there.name:
            said.append(
                caution(
                    "ledger-pinned-for-another",
                    mark=row.mark,
                    door=there.name,
                    pinned_for=row.pinned_for,
                )
            )
    return said


def _make_room(
    tx: Writing, owner: SystemRow, door: DoorRow, row: CylinderRow, instead_of: str, old_to: str
) -> list[Finding]:
    table = table_of(CylinderRow)
    here = [
        one
        for one in tx.rows(CylinderRow, table.c.system == owner.id, table.c.door == door.name)
        if one.id != row.id
    ]
    if len(here) < door.count and not instead_of:
        return []
    wanted = tidy(instead_of)
    old = [one for one in here if one.mark == wanted] if wanted else here
    if len(old) != 1 or not tidy(old_to):
        marks = ", ".join(one.mark for one in here)
        return [fault("ledger-door-taken", door=door.name, marks=marks)]
    tx.append(EventKind.PLACED, d.Placed(at=tidy(old_to)), system=owner.id, subject=old[0].id)
    return []
