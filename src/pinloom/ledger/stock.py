"""Blanks: received, cut, spoiled, left; and what a count of them shows."""

from pinloom.core.findings import Finding, caution, fault, note
from pinloom.ledger import details as d
from pinloom.ledger import lookup
from pinloom.ledger.events import EventKind
from pinloom.ledger.rows import BlankRow
from pinloom.ledger.view import Writing, tidy


def keep_blank(tx: Writing, name: str, *, restricted: bool) -> list[Finding]:
    """The shop keeps a blank; or what is said of one it keeps changes."""
    name = tidy(name)
    if not name:
        return [fault("ledger-name-unusable", name="")]
    row = tx.get(BlankRow, name)
    if row is not None and row.restricted == restricted:
        return [fault("ledger-known-already", what="blank", name=name)]
    tx.append(EventKind.BLANK, d.BlankNamed(restricted=restricted), name=name)
    return []


def receive(tx: Writing, blank: str, pieces: int, why: str = "") -> list[Finding]:
    """Blanks came in."""
    return _change(tx, EventKind.RECEIVED, blank, pieces, why)


def spoil(tx: Writing, blank: str, pieces: int, why: str) -> list[Finding]:
    """Blanks were spoiled; why is asked for, because spoiled blanks are where blanks go missing."""
    if not tidy(why):
        return [fault("ledger-no-reason")]
    return _change(tx, EventKind.SPOILED, blank, pieces, why)


def count(tx: Writing, blank: str, pieces: int, why: str = "") -> list[Finding]:
    """Blanks were counted; the books are set to what is there, and the difference is kept."""
    row = lookup.blank(tx, blank)
    if isinstance(row, Finding):
        return [row]
    if pieces < 0:
        return [fault("ledger-not-a-count", pieces=pieces)]
    details = d.BlankCount(pieces=pieces, expected=row.left())
    tx.append(EventKind.COUNTED, details, name=row.name, why=why)
    difference = pieces - row.left()
    if difference == 0:
        return [note("ledger-blanks-agree", blank=row.name, left=pieces)]
    return [
        caution(
            "ledger-blanks-differ",
            blank=row.name,
            books=row.left(),
            seen=pieces,
            difference=f"{difference:+d}",
        )
    ]


def _change(tx: Writing, kind: EventKind, blank: str, pieces: int, why: str) -> list[Finding]:
    row = lookup.blank(tx, blank)
    if isinstance(row, Finding):
        return [row]
    if pieces < 1:
        return [fault("ledger-not-a-count", pieces=pieces)]
    tx.append(kind, d.BlankCount(pieces=pieces), name=row.name, why=why)
    left = row.left() - (pieces if kind is EventKind.SPOILED else -pieces)
    return [caution("ledger-blanks-short", blank=row.name, left=left)] if left < 0 else []
