"""Questions over the counter. None of the answers holds a cut."""

from dataclasses import dataclass

from sqlalchemy import or_

from pinloom.core.findings import Finding
from pinloom.ledger import lookup
from pinloom.ledger.events import Event
from pinloom.ledger.rows import (
    BlankRow,
    CombinationRow,
    CopyRow,
    CopyState,
    CylinderRow,
    DoorRow,
    KeyRow,
    LookupRow,
    OpensRow,
    PersonRow,
    SystemRow,
)
from pinloom.ledger.schema import events
from pinloom.ledger.view import Reading, table_of

MOST_FOUND = 50
MOST_EVENTS = 200


@dataclass(frozen=True, slots=True, kw_only=True)
class Held:
    """A copy that is with somebody."""

    copy: CopyRow
    system: SystemRow
    holder: PersonRow | None
    late: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class CanOpen:
    """A copy that opens a door. ``holder`` None = in the cabinet, or lost with nobody to name.

    ``revision`` = the revision of the pins in the door; ``assumed`` = no cylinder is recorded
    there, so the approved revision is taken.
    """

    copy: CopyRow
    system: SystemRow
    door: str
    revision: int
    assumed: bool
    holder: PersonRow | None


@dataclass(frozen=True, slots=True, kw_only=True)
class ToDo:
    """What stands between the approved revision and the building."""

    cylinders: tuple[tuple[str, CylinderRow | None], ...]  # door, and what is there; to be pinned
    copies: tuple[CopyRow, ...]  # cut to an older combination; to be called back
    lost: tuple[CombinationRow, ...]  # combinations with a lost copy


def holds(view: Reading, person: PersonRow) -> list[Held]:
    """What a person holds, and what was lost while with that person."""
    table = table_of(CopyRow)
    return _held(view, view.rows(CopyRow, table.c.holder == person.id))


def out(view: Reading, *, late_only: bool = False, limit: int | None = None) -> list[Held]:
    """Every copy that is out; or those that are overdue."""
    table = table_of(CopyRow)
    where = [table.c.state == CopyState.OUT.value]
    if late_only:
        where += [table.c.due != "", table.c.due < view.today]
    return _held(view, view.rows(CopyRow, *where, limit=limit))


def _held(view: Reading, copies: list[CopyRow]) -> list[Held]:
    systems = view.many(SystemRow, (copy.system for copy in copies))
    people = view.many(PersonRow, (copy.holder for copy in copies))
    return [
        Held(
            copy=copy,
            system=systems[copy.system],
            holder=people.get(copy.holder),
            late=copy.state == CopyState.OUT.value and "" < copy.due < view.today,
        )
        for copy in copies
    ]


def who_can_open(view: Reading, owner: SystemRow, door: str) -> list[CanOpen] | Finding:
    """Every copy that opens a door as it is pinned now, wherever the copy is."""
    row = lookup.door(view, owner, owner.latest, door)
    if isinstance(row, Finding):
        return row
    found: dict[int, tuple[CopyRow, int, bool]] = {}
    table = table_of(CopyRow)
    for revision, assumed in _pinned(view, owner, row.name):
        for key in _keys_of(view, owner, revision, row.name):
            for copy in view.rows(
                CopyRow,
                table.c.system == owner.id,
                table.c.name == key.name,
                table.c.combination == key.combination,
                table.c.state != CopyState.DESTROYED.value,
            ):
                found[copy.id] = (copy, revision, assumed)
    people = view.many(PersonRow, (copy.holder for copy, _, _ in found.values()))
    return [
        CanOpen(
            copy=copy,
            system=owner,
            door=row.name,
            revision=revision,
            assumed=assumed,
            holder=people.get(copy.holder),
        )
        for copy, revision, assumed in found.values()
    ]


def _pinned(view: Reading, owner: SystemRow, door: str) -> list[tuple[int, bool]]:
    """The revisions of the pins in a door, and whether that is only assumed."""
    table = table_of(CylinderRow)
    here = view.rows(CylinderRow, table.c.system == owner.id, table.c.door == door)
    known = sorted({row.revision for row in here if row.pinned_for == door})
    return [(number, False) for number in known] or [(owner.approved or owner.latest, True)]


def _keys_of(view: Reading, owner: SystemRow, revision: int, door: str) -> list[KeyRow]:
    table = table_of(OpensRow)
    opens = view.rows(
        OpensRow,
        table.c.system == owner.id,
        table.c.revision == revision,
        table.c.door == door,
    )
    keys = (view.get(KeyRow, owner.id, revision, one.name) for one in opens)
    return [key for key in keys if key is not None]


def what_opens(view: Reading, person: PersonRow) -> list[CanOpen]:
    """Every door that the keys with a person open, as the doors are pinned now."""
    found: dict[tuple[int, str], CanOpen] = {}
    table = table_of(CopyRow)
    mine = view.rows(
        CopyRow, table.c.holder == person.id, table.c.state != CopyState.DESTROYED.value
    )
    for copy in mine:
        owner = view.get(SystemRow, copy.system)
        assert owner is not None
        pinned = _doors_by_revision(view, owner)
        for revision, assumed, doors in pinned:
            key = view.get(KeyRow, owner.id, revision, copy.name)
            if key is None or key.combination != copy.combination:
                continue
            opens = table_of(OpensRow)
            for one in view.rows(
                OpensRow,
                opens.c.system == owner.id,
                opens.c.revision == revision,
                opens.c.name == copy.name,
            ):
                if (one.door in doors) != assumed:
                    found[copy.id, one.door] = CanOpen(
                        copy=copy,
                        system=owner,
                        door=one.door,
                        revision=revision,
                        assumed=assumed,
                        holder=person,
                    )
    return list(found.values())


def _doors_by_revision(view: Reading, owner: SystemRow) -> list[tuple[int, bool, set[str]]]:
    """(revision, False, doors pinned so) for each, and (approved, True, all recorded doors)."""
    table = table_of(CylinderRow)
    by_revision: dict[int, set[str]] = {}
    for row in view.rows(CylinderRow, table.c.system == owner.id, table.c.door != ""):
        if row.pinned_for == row.door:
            by_revision.setdefault(row.revision, set()).add(row.door)
    recorded = set().union(*by_revision.values())
    known = [(number, False, doors) for number, doors in sorted(by_revision.items())]
    return [*known, (owner.approved or owner.latest, True, recorded)]


def search(view: Reading, text: str, limit: int = MOST_FOUND) -> list[LookupRow]:
    """Everything whose name holds the text: names that begin with it first."""
    table = table_of(LookupRow)
    wanted = text.strip().casefold()
    begins = table.c.folded.startswith(wanted, autoescape=True)
    holds_it = table.c.folded.contains(wanted, autoescape=True)
    first = view.rows(LookupRow, begins, limit=limit)
    if len(first) >= limit:
        return first
    return first + view.rows(LookupRow, holds_it, ~begins, limit=limit - len(first))


def history(
    view: Reading,
    *,
    number: int | None = None,
    system: int | None = None,
    name: str = "",
    last: int = MOST_EVENTS,
) -> list[Event]:
    """The events about a thing by its number (as subject or party), or about a door or key."""
    if number is not None:
        about = or_(events.c.subject == number, events.c.party == number)
        return view.events(about, last=last)
    if system is not None and name:
        return view.events(events.c.system == system, events.c.name == name, last=last)
    if system is not None:
        return view.events(events.c.system == system, last=last)
    return view.events(last=last)


def to_do(view: Reading, owner: SystemRow) -> ToDo:
    """What is left to do until the building agrees with the approved revision."""
    doors = table_of(DoorRow)
    cylinders = table_of(CylinderRow)
    copies = table_of(CopyRow)
    lost = table_of(CombinationRow)
    here: dict[str, list[CylinderRow]] = {}
    for row in view.rows(CylinderRow, cylinders.c.system == owner.id, cylinders.c.door != ""):
        here.setdefault(row.door, []).append(row)
    to_pin: list[tuple[str, CylinderRow | None]] = []
    for door in view.rows(DoorRow, doors.c.system == owner.id, doors.c.revision == owner.approved):
        present = here.get(door.name, [])
        good = [r for r in present if (r.pinned_for, r.pinning) == (door.name, door.pinning)]
        to_pin += [(door.name, row) for row in present if row not in good]
        to_pin += [(door.name, None)] * max(0, door.count - len(present))
    current = {key.name: key for key in _approved_keys(view, owner)}
    alive = (CopyState.IN.value, CopyState.OUT.value)
    old = [
        copy
        for copy in view.rows(CopyRow, copies.c.system == owner.id, copies.c.state.in_(alive))
        if copy.name not in current or current[copy.name].combination != copy.combination
    ]
    unsafe = view.rows(CombinationRow, lost.c.system == owner.id, lost.c.lost > 0)
    return ToDo(
        cylinders=tuple(to_pin),
        copies=tuple(old) if owner.approved else (),
        lost=tuple(
            row
            for row in unsafe
            if row.name in current and current[row.name].combination == row.combination
        ),
    )


def _approved_keys(view: Reading, owner: SystemRow) -> list[KeyRow]:
    table = table_of(KeyRow)
    return view.rows(KeyRow, table.c.system == owner.id, table.c.revision == owner.approved)


def spares(view: Reading, owner: SystemRow) -> list[CylinderRow]:
    """Cylinders and cores that are pinned and at no door, and where they are."""
    table = table_of(CylinderRow)
    return view.rows(CylinderRow, table.c.system == owner.id, table.c.door == "")


def blanks(view: Reading) -> list[BlankRow]:
    """The stock of blanks."""
    return view.rows(BlankRow)
