"""The fold of what concerns key systems: revisions, approval, cylinders and their doors."""

from dataclasses import replace

from pinloom.ledger import details as d
from pinloom.ledger.events import Event, EventKind
from pinloom.ledger.folding import State, created, demand, look, need
from pinloom.ledger.rows import (
    CombinationRow,
    CylinderRow,
    DoorPlaceRow,
    DoorRow,
    KeyRow,
    LookupKind,
    OpensRow,
    RevisionRow,
    SiteRow,
    SystemRow,
)


def system(state: State, event: Event, details: d.System) -> None:
    """A key system begins."""
    site = need(state, SiteRow, details.site)
    number = created(event)
    state.put(
        SystemRow(id=number, site=site.id, name=event.name, latest=0, approved=0, inventoried="")
    )
    look(state, LookupKind.SYSTEM, 0, number, event.name, site.name)


def revision(state: State, event: Event, details: d.Revision) -> None:
    """A revision comes in, whole."""
    owner = need(state, SystemRow, event.system)
    demand(details.revision > owner.latest, "revisions rise")
    demand((event.kind is EventKind.PROVED) == (details.faults == 0), "proved means no faults")
    state.put(replace(owner, latest=details.revision))
    state.put(
        RevisionRow(
            system=owner.id,
            number=details.revision,
            at=event.at,
            proved=details.faults == 0,
            faults=details.faults,
            format=details.format,
            chambers=details.chambers,
            texts=" ".join(details.texts),
            mark=details.mark,
            sealed=event.seq,
            approved_at="",
            approved_by="",
            authority="",
        )
    )
    _doors(state, owner, details)
    _keys(state, owner, details)


def _doors(state: State, owner: SystemRow, details: d.Revision) -> None:
    demand(len(details.opens) == len(details.doors), "every door has its openers")
    for line, openers in zip(details.doors, details.opens, strict=True):
        state.put(
            DoorRow(
                system=owner.id,
                revision=details.revision,
                name=line.name,
                opening=line.opening,
                hardware=line.hardware,
                keyway=line.keyway,
                core_group=line.core_group,
                count=line.count,
                pinning=line.pinning,
            )
        )
        look(state, LookupKind.DOOR, owner.id, line.name, line.name, line.opening)
        for index in openers:
            demand(0 <= index < len(details.keys), "openers are keys of the revision")
            state.put(
                OpensRow(
                    system=owner.id,
                    revision=details.revision,
                    door=line.name,
                    name=details.keys[index].name,
                )
            )


def _keys(state: State, owner: SystemRow, details: d.Revision) -> None:
    for line in details.keys:
        state.put(
            KeyRow(
                system=owner.id,
                revision=details.revision,
                name=line.name,
                standing=line.standing,
                combination=line.combination,
                copies=-1 if line.limit is None else line.limit,
                blank=line.blank,
            )
        )
        look(state, LookupKind.KEY, owner.id, line.name, line.name)
        combination(state, owner.id, line.name, line.combination)


def combination(state: State, owner: int, name: str, number: int) -> CombinationRow:
    """The row of a combination, made when it is new."""
    found = state.get(CombinationRow, owner, name, number)
    if found is None:
        found = CombinationRow(system=owner, name=name, combination=number, lost=0)
        state.put(found)
    return found


def approved(state: State, event: Event, details: d.Approved) -> None:
    """A proved revision may be used."""
    owner = need(state, SystemRow, event.system)
    found = need(state, RevisionRow, owner.id, details.revision)
    demand(found.proved, "only a proved revision is approved")
    demand(not found.approved_at, "approved once")
    state.put(
        replace(
            found,
            approved_at=event.at,
            approved_by=details.by,
            authority=details.authority,
        )
    )
    state.put(replace(owner, approved=max(owner.approved, details.revision)))


def pinned(state: State, event: Event, details: d.Pinned) -> None:
    """A cylinder holds the pins of a door; a new one appears at no place yet."""
    found = need(state, RevisionRow, event.system, details.revision)
    demand(bool(found.approved_at), "only an approved revision is pinned from")
    door = need(state, DoorRow, event.system, details.revision, event.name)
    demand(door.pinning == details.pinning, "the pinning is the revision's")
    if event.kind is EventKind.PINNED:
        number = created(event)
        row = CylinderRow(
            id=number,
            system=found.system,
            mark=details.mark,
            pinned_for="",
            revision=0,
            pinning=0,
            pinned_at="",
            door="",
            place="",
        )
        look(state, LookupKind.CYLINDER, found.system, number, details.mark, event.name)
    else:
        row = need(state, CylinderRow, event.subject)
        demand(row.system == found.system and row.mark == details.mark, "the same cylinder")
    state.put(
        replace(
            row,
            pinned_for=event.name,
            revision=details.revision,
            pinning=details.pinning,
            pinned_at=event.at,
        )
    )


def placed(state: State, event: Event, details: d.Placed) -> None:
    """A cylinder goes to a door or to a place."""
    row = need(state, CylinderRow, event.subject)
    demand(row.system == event.system, "the cylinder is of the system")
    demand(bool(event.name) != bool(details.at), "at a door or at a place")
    state.put(replace(row, door=event.name, place=details.at))


def door_placed(state: State, event: Event, details: d.DoorPlaced) -> None:
    """A door is in a building."""
    owner = need(state, SystemRow, event.system)
    state.put(DoorPlaceRow(system=owner.id, door=event.name, building=details.building))


def inventoried(state: State, event: Event) -> None:
    """A system was counted."""
    owner = need(state, SystemRow, event.system)
    state.put(replace(owner, inventoried=event.at))
