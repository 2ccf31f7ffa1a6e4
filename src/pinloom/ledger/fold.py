"""From events to what is so now.

``apply`` is the only place that says what an event does. The ledger runs it on its tables when an
event is recorded, and ``verify`` runs it again in memory over the whole chain and compares: a state
row altered by hand is found like an altered event. It refuses (``Incoherent``) what cannot follow
from the events before, so a forged event must also make sense.

Must stay in sync: any change here that gives other rows for old events needs a new number in
``STATE``; an upgrade then works the tables out afresh from the events.
"""

from dataclasses import replace

from pinloom.ledger import details as d
from pinloom.ledger import fold_keys as keys
from pinloom.ledger import fold_system as systems
from pinloom.ledger.events import Event, EventKind
from pinloom.ledger.folding import State, created, demand, look, need
from pinloom.ledger.rows import (
    BlankRow,
    BuildingRow,
    CopyRow,
    LookupKind,
    PersonRow,
    SignatoryRow,
    SiteRow,
)

STATE = 1  # the number of these rules


def apply(state: State, event: Event) -> None:  # noqa: C901 (a table of kinds, nothing else)
    """What the event does to the state. Raises Incoherent when it cannot follow."""
    match event.details:
        case d.Issued() as details:
            keys.issued(state, event, details)
        case d.Returned() as details:
            keys.returned(state, event, details)
        case d.Cut() as details:
            keys.cut(state, event, details)
        case d.Overdue() as details:
            keys.overdue(state, event, details)
        case d.Lost():
            keys.lost(state, event)
        case d.Found() as details:
            keys.found(state, event, details)
        case d.Trusted() as details:
            keys.trusted(state, event, details)
        case d.Destroyed():
            keys.destroyed(state, event)
        case d.Ordered() as details:
            keys.ordered(state, event, details)
        case d.Corrected() as details:
            _corrected(state, event, details)
        case d.Person() as details:
            _person(state, event, details)
        case d.System() as details:
            systems.system(state, event, details)
        case d.Revision() as details:
            systems.revision(state, event, details)
        case d.Approved() as details:
            systems.approved(state, event, details)
        case d.Pinned() as details:
            systems.pinned(state, event, details)
        case d.Placed() as details:
            systems.placed(state, event, details)
        case d.DoorPlaced() as details:
            systems.door_placed(state, event, details)
        case d.Inventoried():
            systems.inventoried(state, event)
        case d.Site():
            number = created(event)
            state.put(SiteRow(id=number, name=event.name))
            look(state, LookupKind.SITE, 0, number, event.name)
        case d.Building():
            site = need(state, SiteRow, event.subject)
            state.put(BuildingRow(site=site.id, name=event.name))
        case d.Signatory() as details:
            _signatory(state, event, details)
        case d.SignatoryEnded():
            row = need(state, SignatoryRow, event.subject, event.party)
            state.put(replace(row, ended=event.at))
        case d.BlankNamed() as details:
            _blank(state, event, details)
        case d.BlankCount() as details:
            _blank_count(state, event, details)
        case d.Signed() as details:
            need(state, CopyRow, event.subject)
            demand(details.of < event.seq, "signed after it was issued")
        case _:  # opened, list imported, passphrase, upgraded, restored: no rows
            pass


def _person(state: State, event: Event, details: d.Person) -> None:
    row = PersonRow(
        id=created(event),
        name=event.name,
        organisation=details.organisation,
        contact=details.contact,
        note=details.note,
    )
    _put_person(state, row)


def _put_person(state: State, row: PersonRow) -> None:
    state.put(row)
    look(state, LookupKind.PERSON, 0, row.id, row.name, row.organisation)


def _signatory(state: State, event: Event, details: d.Signatory) -> None:
    site = need(state, SiteRow, event.subject)
    person = need(state, PersonRow, event.party)
    demand(bool(details.authority), "a signatory has written authority")
    state.put(
        SignatoryRow(
            site=site.id,
            person=person.id,
            authority=details.authority,
            until=details.until,
            since=event.at,
            ended="",
        )
    )


def _blank(state: State, event: Event, details: d.BlankNamed) -> None:
    row = state.get(BlankRow, event.name) or BlankRow(
        name=event.name,
        restricted=False,
        received=0,
        cut=0,
        spoiled=0,
        adjusted=0,
        counted_at="",
    )
    state.put(replace(row, restricted=details.restricted))
    look(state, LookupKind.BLANK, 0, event.name, event.name)


def _blank_count(state: State, event: Event, details: d.BlankCount) -> None:
    row = need(state, BlankRow, event.name)
    demand(details.pieces >= 0, "pieces are counted from 0")
    if event.kind is EventKind.RECEIVED:
        row = replace(row, received=row.received + details.pieces)
    elif event.kind is EventKind.SPOILED:
        row = replace(row, spoiled=row.spoiled + details.pieces)
    else:
        demand(details.expected == row.left(), "a count starts from the books")
        adjusted = row.adjusted + details.pieces - row.left()
        row = replace(row, adjusted=adjusted, counted_at=event.at)
    state.put(row)


def _corrected(state: State, event: Event, details: d.Corrected) -> None:
    demand(details.of < event.seq, "only what happened is corrected")
    person = state.get(PersonRow, event.subject or 0)
    if person is None:
        keys.corrected(state, event, details)
        return
    demand(details.field in PERSON_FIELDS, f"a person has no {details.field}")
    demand(getattr(person, details.field) == details.before, "corrected from what it was")
    now = {name: getattr(person, name) for name in PERSON_FIELDS} | {details.field: details.after}
    _put_person(state, PersonRow(id=person.id, **now))


PERSON_FIELDS = ("name", "organisation", "contact", "note")
