"""The key desk as pages ask for it: each page is one question, answered from one moment. No cut."""

from dataclasses import dataclass

from pinloom.core.findings import Finding
from pinloom.ledger import lookup, queries, register
from pinloom.ledger.queries import CanOpen, Held
from pinloom.ledger.register import RegisterLine
from pinloom.ledger.rows import CopyRow, CopyState, LookupRow, OpensRow, PersonRow, SystemRow
from pinloom.ledger.view import Reading, table_of
from pinloom.workflow.ledgeracts import SystemView, systems

MOST = 400  # lines of a list
MOST_PEOPLE = 2_000  # names offered while typing


@dataclass(frozen=True, slots=True, kw_only=True)
class Front:
    """What the desk shows first. ``out`` = copies that are out, overdue ones first."""

    out: tuple[Held, ...]
    more: int
    late: int
    systems: tuple[SystemView, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class CopyPage:
    """One copy of a key. ``doors`` = what it opens in the latest revision."""

    copy: CopyRow
    system: SystemRow
    holder: PersonRow | None
    late: bool
    doors: tuple[str, ...]
    lines: tuple[RegisterLine, ...]
    people: tuple[str, ...]

    @property
    def may(self) -> frozenset[str]:
        """What can be done with it now."""
        return {
            CopyState.IN.value: frozenset(("issue", "lose", "destroy")),
            CopyState.OUT.value: frozenset(("back", "lose")),
            CopyState.LOST.value: frozenset(("find",)),
        }.get(self.copy.state, frozenset())


@dataclass(frozen=True, slots=True, kw_only=True)
class PersonPage:
    """One person: what is held, and what can be opened with it."""

    person: PersonRow
    held: tuple[Held, ...]
    opens: tuple[CanOpen, ...]
    lines: tuple[RegisterLine, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class DoorPage:
    """One door: every copy that opens it, wherever that is."""

    system: SystemRow
    door: str
    copies: tuple[CanOpen, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class SymbolPage:
    """One key symbol: its copies and where they are."""

    system: SystemRow
    name: str
    copies: tuple[Held, ...]


def front(view: Reading) -> Front:
    """Copies that are out, and every system at a glance."""
    found = sorted(queries.out(view), key=lambda one: (not one.late, one.copy.due or "9999"))
    return Front(
        out=tuple(found[:MOST]),
        more=max(0, len(found) - MOST),
        late=sum(one.late for one in found),
        systems=tuple(systems(view)),
    )


def find(view: Reading, text: str) -> tuple[LookupRow, ...]:
    """Whatever has this in its name."""
    return tuple(queries.search(view, text)) if text.strip() else ()


def copy_page(view: Reading, number: int) -> CopyPage | Finding:
    """A copy by its number in the ledger."""
    copy = lookup.copy(view, f"#{number}")
    if isinstance(copy, Finding):
        return copy
    system = view.get(SystemRow, copy.system)
    assert system is not None
    table = table_of(OpensRow)
    doors = view.rows(
        OpensRow,
        table.c.system == copy.system,
        table.c.revision == system.latest,
        table.c.name == copy.name,
    )
    people = view.rows(PersonRow, limit=MOST_PEOPLE)
    return CopyPage(
        copy=copy,
        system=system,
        holder=view.get(PersonRow, copy.holder),
        late=copy.state == CopyState.OUT.value and "" < copy.due < view.today,
        doors=tuple(row.door for row in doors),
        lines=tuple(reversed(register.of_copy(view, copy))),
        people=_told_apart(people),
    )


def _told_apart(people: list[PersonRow]) -> tuple[str, ...]:
    """Names to type; namesakes are offered by their numbers."""
    names = [one.name for one in people]
    return tuple(
        one.name if names.count(one.name) == 1 else f"#{one.id}"
        for one in people[: MOST_PEOPLE // 4]
    )


def person_page(view: Reading, number: int) -> PersonPage | Finding:
    """A person by number."""
    person = lookup.person(view, f"#{number}")
    if isinstance(person, Finding):
        return person
    return PersonPage(
        person=person,
        held=tuple(queries.holds(view, person)),
        opens=tuple(queries.what_opens(view, person)),
        lines=tuple(reversed(register.of_person(view, person)))[:MOST],
    )


def door_page(view: Reading, system: int, door: str) -> DoorPage | Finding:
    """A door of a system by its number."""
    owner = lookup.system(view, f"#{system}")
    if isinstance(owner, Finding):
        return owner
    found = queries.who_can_open(view, owner, door)
    if isinstance(found, Finding):
        return found
    return DoorPage(system=owner, door=door, copies=tuple(found))


def symbol_page(view: Reading, system: int, name: str) -> SymbolPage | Finding:
    """A key symbol of a system."""
    owner = lookup.system(view, f"#{system}")
    if isinstance(owner, Finding):
        return owner
    key = lookup.key(view, owner, owner.latest, name)
    if isinstance(key, Finding):
        return key
    table = table_of(CopyRow)
    rows = view.rows(CopyRow, table.c.system == owner.id, table.c.name == key.name, limit=MOST)
    people = view.many(PersonRow, (row.holder for row in rows))
    return SymbolPage(
        system=owner,
        name=key.name,
        copies=tuple(
            Held(
                copy=row,
                system=owner,
                holder=people.get(row.holder),
                late=row.state == CopyState.OUT.value and "" < row.due < view.today,
            )
            for row in rows
        ),
    )
