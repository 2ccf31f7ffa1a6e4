"""Sites, buildings, persons, and who may sign for what."""

from datetime import date

from pinloom.core.findings import Finding, fault, note
from pinloom.ledger import details as d
from pinloom.ledger import lookup
from pinloom.ledger.events import EventKind
from pinloom.ledger.fold import PERSON_FIELDS
from pinloom.ledger.rows import (
    BuildingRow,
    DoorPlaceRow,
    PersonRow,
    SignatoryRow,
    SiteRow,
)
from pinloom.ledger.view import Reading, Writing, table_of, tidy


def add_site(tx: Writing, name: str) -> list[Finding]:
    """A new site."""
    name = tidy(name)
    if not name or "/" in name or name.startswith("#"):
        return [fault("ledger-name-unusable", name=name)]
    if tx.rows(SiteRow, table_of(SiteRow).c.name == name):
        return [fault("ledger-known-already", what="site", name=name)]
    tx.append(EventKind.SITE, d.Site(), subject=0, name=name)
    return []


def add_building(tx: Writing, site: str, name: str) -> list[Finding]:
    """A new building of a site."""
    owner = lookup.site(tx, site)
    if isinstance(owner, Finding):
        return [owner]
    if not tidy(name):
        return [fault("ledger-name-unusable", name="")]
    if tx.get(BuildingRow, owner.id, tidy(name)):
        return [fault("ledger-known-already", what="building", name=tidy(name))]
    tx.append(EventKind.BUILDING, d.Building(), subject=owner.id, name=name)
    return []


def place_doors(tx: Writing, system: str, doors: list[str], building: str) -> list[Finding]:
    """Doors of a system are in a building."""
    owner = lookup.system(tx, system)
    if isinstance(owner, Finding):
        return [owner]
    said: list[Finding] = []
    for name in doors:
        door = lookup.door(tx, owner, owner.latest, name)
        if isinstance(door, Finding):
            said.append(door)
            continue
        row = tx.get(DoorPlaceRow, owner.id, door.name)
        if row is None or row.building != tidy(building):
            where = d.DoorPlaced(building=tidy(building))
            tx.append(EventKind.DOOR_PLACED, where, system=owner.id, name=door.name)
    return said


def add_person(
    tx: Writing,
    name: str,
    organisation: str = "",
    contact: str = "",
    note_text: str = "",
    *,
    namesake: bool = False,
) -> list[Finding]:
    """A new person. A second one of the same name only when said so."""
    name = tidy(name)
    if not name or name.startswith("#"):
        return [fault("ledger-name-unusable", name=name)]
    same = tx.rows(PersonRow, table_of(PersonRow).c.name == name)
    if same and not namesake:
        numbers = ", ".join(f"#{row.id}" for row in same)
        return [fault("ledger-namesake", name=name, numbers=numbers)]
    details = d.Person(organisation=tidy(organisation), contact=tidy(contact), note=tidy(note_text))
    event = tx.append(EventKind.PERSON, details, subject=0, name=name)
    return [note("ledger-new-person", name=name, number=event.seq)] if same else []


def change_person(tx: Writing, person: str, field: str, value: str, why: str) -> list[Finding]:
    """Correct what is kept of a person."""
    found = lookup.person(tx, person)
    if isinstance(found, Finding):
        return [found]
    if field not in PERSON_FIELDS:
        known = ", ".join(PERSON_FIELDS)
        return [fault("ledger-no-such-field", field=field, known=known)]
    if field == "name" and not tidy(value):
        return [fault("ledger-name-unusable", name="")]
    details = d.Corrected(of=found.id, field=field, before=getattr(found, field), after=tidy(value))
    tx.append(EventKind.CORRECTED, details, subject=found.id, why=why)
    return []


def add_signatory(
    tx: Writing, site: str, person: str, authority: str, until: str = ""
) -> list[Finding]:
    """A person may order restricted blanks for a site, on written authority."""
    owner, found = lookup.site(tx, site), lookup.person(tx, person)
    said = [row for row in (owner, found) if isinstance(row, Finding)]
    if not tidy(authority):
        said.append(fault("ledger-no-authority"))
    said += bad_date(until)
    if said or isinstance(owner, Finding) or isinstance(found, Finding):
        return said
    details = d.Signatory(authority=tidy(authority), until=until)
    tx.append(EventKind.SIGNATORY, details, subject=owner.id, party=found.id)
    return []


def end_signatory(tx: Writing, site: str, person: str, why: str) -> list[Finding]:
    """A person may no longer."""
    owner, found = lookup.site(tx, site), lookup.person(tx, person)
    said = [row for row in (owner, found) if isinstance(row, Finding)]
    if isinstance(owner, Finding) or isinstance(found, Finding):
        return said
    if not may_sign(tx, owner.id, found.id):
        return [fault("ledger-no-signatory", person=found.name, site=owner.name)]
    tx.append(
        EventKind.SIGNATORY_ENDED, d.SignatoryEnded(), subject=owner.id, party=found.id, why=why
    )
    return []


def may_sign(view: Reading, site: int, person: int) -> bool:
    """Whether a person is an authorised signatory of a site today."""
    row = view.get(SignatoryRow, site, person)
    return row is not None and not row.ended and (not row.until or view.today <= row.until)


def bad_date(text: str) -> list[Finding]:
    """A finding unless the text is empty or a date."""
    if not text:
        return []
    try:
        exact = date.fromisoformat(text).isoformat() == text
    except ValueError:
        exact = False
    return [] if exact else [fault("ledger-bad-date", text=tidy(text))]
