"""What can be done and asked at the ledger's desk: the ledger's own actions and questions.

Actions go to ``Desk.do`` with ``functools.partial``, such as
``partial(issue, key="AA1-1", person="Rigger")``, questions to ``Desk.ask``. The questions here take
names as people type them.
"""

from dataclasses import dataclass

from pinloom.core.findings import Finding, fault
from pinloom.core.reuse import USUAL_REST
from pinloom.ledger import lookup, queries, register
from pinloom.ledger.counter import (
    correct,
    destroy,
    find,
    issue,
    lose,
    note_overdue,
    sign,
    take_back,
    trust,
)
from pinloom.ledger.cylinders import pin, place
from pinloom.ledger.enter import approve
from pinloom.ledger.events import Event
from pinloom.ledger.inventory import Due, Seen, SeenKind, due, take
from pinloom.ledger.people import (
    add_building,
    add_person,
    add_signatory,
    add_site,
    change_person,
    end_signatory,
)
from pinloom.ledger.queries import CanOpen, Held, ToDo, blanks, out, search
from pinloom.ledger.register import RegisterLine
from pinloom.ledger.resting import Combination, combinations
from pinloom.ledger.rows import (
    BlankRow,
    CopyRow,
    CylinderRow,
    LookupRow,
    PersonRow,
    RevisionRow,
    SiteRow,
    SystemRow,
)
from pinloom.ledger.stock import count, keep_blank, receive, spoil
from pinloom.ledger.view import Reading, table_of, tidy, unstamp
from pinloom.ledger.workshop import cut, order
from pinloom.workflow.clock import local_day


@dataclass(frozen=True, slots=True, kw_only=True)
class SystemView:
    """A system at a glance."""

    system: SystemRow
    site: str
    revisions: tuple[RevisionRow, ...]
    to_do: ToDo


@dataclass(frozen=True, slots=True, kw_only=True)
class Resting:
    """The combinations of a system as they can be offered again; ``rest`` in days."""

    system: SystemRow
    rest: int
    combinations: tuple[Combination, ...]


def resting(view: Reading, system: str, key: str = "", rest: int = USUAL_REST) -> Resting | Finding:
    """The combinations of a system, or of one key symbol of it, and when each is free again."""
    owner = lookup.system(view, system)
    if isinstance(owner, Finding):
        return owner
    found = combinations(view, owner, rest, lambda stamp: local_day(unstamp(stamp)))
    if key:
        found = [one for one in found if one.key == tidy(key)]
        if not found:
            where = f" in {owner.name}"
            return fault("ledger-unknown", what="key", name=tidy(key), where=where)
    return Resting(system=owner, rest=rest, combinations=tuple(found))


def holds(view: Reading, person: str) -> list[Held] | Finding:
    """What a person holds."""
    found = lookup.person(view, person)
    return found if isinstance(found, Finding) else queries.holds(view, found)


def who_can_open(view: Reading, system: str, door: str) -> list[CanOpen] | Finding:
    """Who can open a door, and through which key."""
    found = lookup.system(view, system)
    return found if isinstance(found, Finding) else queries.who_can_open(view, found, door)


def what_opens(view: Reading, person: str) -> list[CanOpen] | Finding:
    """What a person can open."""
    found = lookup.person(view, person)
    return found if isinstance(found, Finding) else queries.what_opens(view, found)


def spares(view: Reading, system: str) -> list[CylinderRow] | Finding:
    """Pinned cylinders and cores that are at no door."""
    found = lookup.system(view, system)
    return found if isinstance(found, Finding) else queries.spares(view, found)


def systems(view: Reading) -> list[SystemView]:
    """Every system at a glance."""
    return [_system(view, row) for row in view.rows(SystemRow)]


def one_system(view: Reading, system: str) -> SystemView | Finding:
    """One system at a glance."""
    found = lookup.system(view, system)
    return found if isinstance(found, Finding) else _system(view, found)


def _system(view: Reading, row: SystemRow) -> SystemView:
    site = view.get(SiteRow, row.site)
    revisions = view.rows(RevisionRow, table_of(RevisionRow).c.system == row.id)
    return SystemView(
        system=row,
        site=site.name if site else "",
        revisions=tuple(revisions),
        to_do=queries.to_do(view, row),
    )


def history_of(view: Reading, what: str, system: str = "") -> list[Event] | Finding:
    """What happened to a key (by stamp), a person, or, with its system, a door, a key symbol or a
    cylinder; everything lately for an empty text.
    """
    if not what and not system:
        return queries.history(view)
    if system:
        owner = lookup.system(view, system)
        if isinstance(owner, Finding):
            return owner
        if not what:
            return queries.history(view, system=owner.id)
        cylinder = lookup.cylinder(view, owner, what)
        if isinstance(cylinder, CylinderRow):
            named = queries.history(view, system=owner.id, name=what)
            own = queries.history(view, number=cylinder.id)
            return sorted({e.seq: e for e in (*named, *own)}.values(), key=lambda e: e.seq)
        return queries.history(view, system=owner.id, name=what)
    copy = lookup.copy(view, what)
    if isinstance(copy, CopyRow):
        return queries.history(view, number=copy.id)
    person = lookup.person(view, what)
    return copy if isinstance(person, Finding) else queries.history(view, number=person.id)


def register_of(view: Reading, what: str) -> list[RegisterLine] | Finding:
    """The register's lines of a key (by stamp) or of a person."""
    copy = lookup.copy(view, what)
    if isinstance(copy, CopyRow):
        return register.of_copy(view, copy)
    person = lookup.person(view, what)
    return copy if isinstance(person, Finding) else register.of_person(view, person)


def receipt(view: Reading, number: str) -> RegisterLine | Finding:
    """The register's line that a receipt's number names."""
    digits = number.strip().partition("-")[0]
    return register.of_receipt(view, int(digits) if digits.isdecimal() else 0)


__all__ = [
    "BlankRow",
    "CanOpen",
    "CopyRow",
    "CylinderRow",
    "Due",
    "Event",
    "Held",
    "LookupRow",
    "PersonRow",
    "RegisterLine",
    "Resting",
    "Seen",
    "SeenKind",
    "SystemView",
    "ToDo",
    "add_building",
    "add_person",
    "add_signatory",
    "add_site",
    "approve",
    "blanks",
    "change_person",
    "correct",
    "count",
    "cut",
    "destroy",
    "due",
    "end_signatory",
    "find",
    "history_of",
    "holds",
    "issue",
    "keep_blank",
    "lose",
    "note_overdue",
    "one_system",
    "order",
    "out",
    "pin",
    "place",
    "receipt",
    "receive",
    "register_of",
    "resting",
    "search",
    "sign",
    "spares",
    "spoil",
    "systems",
    "take",
    "take_back",
    "trust",
    "what_opens",
    "who_can_open",
]
