"""Orders for copies, and copies cut.

Refused here, as the trade refuses: work from a revision that is not proved and approved; an order
on a restricted blank by somebody who is no authorised signatory of the site; a copy over the limit;
a copy of a lost combination.
"""

from collections.abc import Sequence

from pinloom.core.chart import KeyStanding
from pinloom.core.findings import Finding, caution, fault, has_fault
from pinloom.ledger import details as d
from pinloom.ledger import lookup
from pinloom.ledger.events import EventKind
from pinloom.ledger.people import may_sign
from pinloom.ledger.rows import (
    BlankRow,
    CombinationRow,
    CopyRow,
    CopyState,
    KeyRow,
    OrderRow,
    RevisionRow,
    SiteRow,
    SystemRow,
)
from pinloom.ledger.telling import reads_as_cuts
from pinloom.ledger.view import Reading, Writing, table_of, tidy


def order(
    tx: Writing, system: str, key: str, person: str, copies: int, blank: str = "", why: str = ""
) -> list[Finding]:
    """Somebody orders copies of a key."""
    found = key_of(tx, system, key)
    by = lookup.person(tx, person)
    said = [row for row in (found, by) if isinstance(row, Finding)]
    if copies < 1:
        said.append(fault("ledger-not-a-count", pieces=copies))
    if said or isinstance(found, Finding) or isinstance(by, Finding):
        return said
    owner, _, row = found
    name = tidy(blank) or row.blank
    stock = lookup.blank(tx, name) if name else None
    if isinstance(stock, Finding):
        return [stock]
    if stock is not None and stock.restricted and not may_sign(tx, owner.site, by.id):
        return [
            fault(
                "ledger-may-not-order", person=by.name, site=site_name(tx, owner), blank=stock.name
            )
        ]
    tx.append(
        EventKind.ORDERED,
        d.Ordered(copies=copies, blank=name),
        system=owner.id,
        subject=0,
        party=by.id,
        name=row.name,
        why=why,
    )
    return []


def cut(
    tx: Writing,
    system: str,
    key: str,
    copies: int = 1,
    *,
    order_number: int | None = None,
    blank: str = "",
    stamps: Sequence[str] = (),
    why: str = "",
) -> list[Finding]:
    """Copies were cut. Stamps default to symbol and copy number."""
    found = key_of(tx, system, key)
    if isinstance(found, Finding):
        return [found]
    owner, revision, row = found
    said = _refusals(tx, owner, row, copies)
    asked = _order(tx, owner, row, copies, order_number)
    name = tidy(blank) or (asked.blank if isinstance(asked, OrderRow) else "") or row.blank
    said += [asked] if isinstance(asked, Finding) else _blank(tx, name, copies, asked)
    first = 1 + max((copy.number for copy in copies_of(tx, owner, row.name)), default=0)
    marks = _stamps(row.name, first, copies, stamps)
    said += _stamp_faults(tx, owner, revision, marks, copies)
    if has_fault(said):
        return said
    for index, mark in enumerate(marks):
        details = d.Cut(
            number=first + index,
            stamp=mark,
            combination=row.combination,
            revision=revision.number,
            blank=name,
            order=order_number,
        )
        tx.append(EventKind.CUT, details, system=owner.id, subject=0, name=row.name, why=why)
    return said


def _refusals(tx: Writing, owner: SystemRow, row: KeyRow, copies: int) -> list[Finding]:
    said: list[Finding] = []
    if copies < 1:
        return [fault("ledger-not-a-count", pieces=copies)]
    if row.standing == KeyStanding.RETIRED.value:
        said.append(fault("ledger-key-retired", key=row.name))
    if row.standing == KeyStanding.RESERVED.value:
        said.append(caution("ledger-key-reserved", key=row.name))
    said += lost_combination(tx, owner, row.name, row.combination)
    alive = [
        copy
        for copy in copies_of(tx, owner, row.name)
        if copy.combination == row.combination and copy.state != CopyState.DESTROYED.value
    ]
    if row.copies >= 0 and len(alive) + copies > row.copies:
        said.append(
            fault(
                "ledger-over-limit", key=row.name, limit=row.copies, exist=len(alive), more=copies
            )
        )
    return said


def _order(
    tx: Writing, owner: SystemRow, row: KeyRow, copies: int, number: int | None
) -> OrderRow | Finding | None:
    if number is None:
        return None
    found = tx.get(OrderRow, number)
    if found is None or found.system != owner.id or found.name != row.name:
        return fault("ledger-unknown", what="order", name=f"#{number}", where=f" for {row.name}")
    if found.cut + copies > found.copies:
        left = found.copies - found.cut
        return fault("ledger-order-filled", number=number, left=left)
    return found


def _blank(tx: Writing, name: str, copies: int, asked: OrderRow | None) -> list[Finding]:
    if not name:
        return []
    stock = tx.get(BlankRow, name)
    if stock is None:
        return [fault("ledger-unknown", what="blank", name=name, where="")]
    if stock.restricted and asked is None:
        return [fault("ledger-needs-order", blank=name)]
    if asked is not None and asked.blank and asked.blank != name:
        return [fault("ledger-other-blank", ordered=asked.blank, blank=name)]
    if stock.left() < copies:
        return [caution("ledger-blanks-short", blank=name, left=stock.left() - copies)]
    return []


def _stamps(key: str, first: int, copies: int, given: Sequence[str]) -> list[str]:
    if given:
        return [tidy(mark) for mark in given]
    return [f"{key}-{first + index}" for index in range(copies)]


def _stamp_faults(
    tx: Writing, owner: SystemRow, revision: RevisionRow, marks: list[str], copies: int
) -> list[Finding]:
    said: list[Finding] = []
    if len(marks) != copies or not all(marks):
        return [fault("ledger-stamps-missing", copies=copies, stamps=len(marks))]
    table = table_of(CopyRow)
    for index, mark in enumerate(marks):
        if reads_as_cuts(mark, revision.chambers, revision.texts):
            said.append(fault("ledger-stamp-shows-cuts", number=index + 1))
        elif mark in marks[:index] or tx.rows(
            CopyRow, table.c.stamp == mark, table.c.system == owner.id, limit=1
        ):
            said.append(fault("ledger-stamp-taken", stamp=mark))
    return said


def key_of(view: Reading, system: str, key: str) -> tuple[SystemRow, RevisionRow, KeyRow] | Finding:
    """A key symbol in the approved revision of a system."""
    owner = lookup.system(view, system)
    if isinstance(owner, Finding):
        return owner
    revision = lookup.revision(view, owner, None)
    if isinstance(revision, Finding):
        return revision
    row = lookup.key(view, owner, revision.number, key)
    return row if isinstance(row, Finding) else (owner, revision, row)


def copies_of(view: Reading, owner: SystemRow, name: str) -> list[CopyRow]:
    """Every copy there is or was of a key symbol."""
    table = table_of(CopyRow)
    return view.rows(CopyRow, table.c.system == owner.id, table.c.name == name)


def lost_combination(view: Reading, owner: SystemRow, name: str, combination: int) -> list[Finding]:
    """The refusal of a combination of which a copy is lost."""
    row = view.get(CombinationRow, owner.id, name, combination)
    if row is None or row.lost == 0:
        return []
    return [fault("ledger-combination-lost", key=name, system=owner.name)]


def site_name(view: Reading, owner: SystemRow) -> str:
    """The name of a system's site."""
    row = view.get(SiteRow, owner.site)
    return row.name if row else ""
