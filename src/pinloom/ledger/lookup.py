"""From what a person types to the thing meant, or a finding that says what is unclear.

Everywhere ``#12`` means the thing whose number in the ledger is 12. A name is taken as it is, then
without regard to case. ``SITE/SYSTEM`` and ``SYSTEM/STAMP`` tell namesakes apart.
"""

from typing import TypeVar

from sqlalchemy import ColumnElement, func

from pinloom.core.findings import Finding, fault
from pinloom.ledger.rows import (
    BlankRow,
    CopyRow,
    CylinderRow,
    DoorRow,
    KeyRow,
    PersonRow,
    RevisionRow,
    Row,
    SiteRow,
    SystemRow,
)
from pinloom.ledger.view import Reading, table_of, tidy

R = TypeVar("R", bound=Row)
_MOST_NAMED = 8


def site(view: Reading, text: str) -> SiteRow | Finding:
    """A site."""
    return _one(view, SiteRow, "name", text, "site")


def person(view: Reading, text: str) -> PersonRow | Finding:
    """A person."""
    return _one(view, PersonRow, "name", text, "person")


def system(view: Reading, text: str) -> SystemRow | Finding:
    """A key system, by its name or SITE/SYSTEM."""
    text = tidy(text)
    found = _one(view, SystemRow, "name", text, "system")
    if not isinstance(found, Finding) or "/" not in text:
        return found
    head, _, tail = text.partition("/")
    owner = site(view, head)
    if isinstance(owner, Finding):
        return owner
    return _one(view, SystemRow, "name", tail, "system", table_of(SystemRow).c.site == owner.id)


def copy(view: Reading, text: str) -> CopyRow | Finding:
    """A copy of a key, by its stamp or SYSTEM/STAMP."""
    text = tidy(text)
    found = _one(view, CopyRow, "stamp", text, "key")
    if not isinstance(found, Finding) or "/" not in text:
        return found
    head, _, tail = text.rpartition("/")
    owner = system(view, head)
    if isinstance(owner, Finding):
        return owner
    return _one(view, CopyRow, "stamp", tail, "key", table_of(CopyRow).c.system == owner.id)


def cylinder(view: Reading, owner: SystemRow, text: str) -> CylinderRow | Finding:
    """A cylinder of a system, by its mark."""
    mine = table_of(CylinderRow).c.system == owner.id
    return _one(view, CylinderRow, "mark", text, "cylinder", mine)


def blank(view: Reading, text: str) -> BlankRow | Finding:
    """A blank."""
    return _one(view, BlankRow, "name", text, "blank")


def revision(view: Reading, owner: SystemRow, number: int | None) -> RevisionRow | Finding:
    """A revision of a system: the one of that number, or the one approved last."""
    if number is None and not owner.approved:
        return fault("ledger-not-approved", system=owner.name, revision=owner.latest)
    found = view.get(RevisionRow, owner.id, owner.approved if number is None else number)
    if found is None:
        return fault("ledger-no-revision", system=owner.name, revision=number)
    return found


def door(view: Reading, owner: SystemRow, number: int, name: str) -> DoorRow | Finding:
    """A door as a revision has it."""
    found = view.get(DoorRow, owner.id, number, tidy(name))
    if found is None:
        table = table_of(DoorRow)
        mine = (table.c.system == owner.id, table.c.revision == number)
        rows = view.rows(DoorRow, *mine, func.lower(table.c.name) == tidy(name).lower())
        found = rows[0] if len(rows) == 1 else None
    if found is None:
        return fault("ledger-unknown", what="door", name=tidy(name), where=f" in {owner.name}")
    return found


def key(view: Reading, owner: SystemRow, number: int, name: str) -> KeyRow | Finding:
    """A key symbol as a revision has it."""
    found = view.get(KeyRow, owner.id, number, tidy(name))
    if found is None:
        return fault("ledger-unknown", what="key", name=tidy(name), where=f" in {owner.name}")
    return found


def _one(
    view: Reading, kind: type[R], column: str, text: str, what: str, *more: ColumnElement[bool]
) -> R | Finding:
    text = tidy(text)
    table = table_of(kind)
    if text.startswith("#") and text[1:].isdecimal() and kind.KEY == ("id",):
        rows = view.rows(kind, table.c.id == int(text[1:]), *more)
    else:
        rows = view.rows(kind, table.c[column] == text, *more)
        if not rows:
            rows = view.rows(kind, func.lower(table.c[column]) == text.lower(), *more)
    if not rows:
        return fault("ledger-unknown", what=what, name=text, where="")
    if len(rows) > 1:
        named = ", ".join(f"#{row.key()[0]}" for row in rows[:_MOST_NAMED])
        return fault("ledger-ambiguous", what=what, name=text, numbers=named)
    return rows[0]
