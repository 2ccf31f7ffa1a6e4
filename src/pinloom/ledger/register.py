"""The key register: one line an issue, with the fields that key control asks for.

Key number, date and time out, issuer's and receiver's name and signature, date and time back (US
Army subcourses MP1001 and MM0170). The lines are read from the events each time: signatures and
corrections that came later are put where they belong, and the events stay as they are.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace

from sqlalchemy import ColumnElement

from pinloom.core.findings import Finding, fault
from pinloom.ledger import details as d
from pinloom.ledger.events import Event, EventKind
from pinloom.ledger.fold_keys import IssueField
from pinloom.ledger.rows import CopyRow, PersonRow, SystemRow
from pinloom.ledger.schema import events
from pinloom.ledger.view import Reading

_CHUNK = 500
_KINDS = (
    EventKind.ISSUED,
    EventKind.SIGNED,
    EventKind.RETURNED,
    EventKind.LOST,
    EventKind.DESTROYED,
    EventKind.CORRECTED,
)


@dataclass(frozen=True, slots=True, kw_only=True)
class RegisterLine:
    """One issue. Times are UTC stamps; ``back_at`` is empty while the key is out.

    ``ended`` = the kind of the event that ended it, empty while it is open; ``void`` = it was
    recorded by mistake.
    """

    receipt: str
    system: str
    key: str
    key_number: str  # the stamp
    out_at: str
    issuer: str
    issuer_signature: str
    receiver: str
    receiver_signature: str
    due: str
    back_at: str = ""
    received_by: str = ""
    back_signature: str = ""
    ended: str = ""
    void: bool = False


def register(view: Reading, *where: ColumnElement[bool]) -> list[RegisterLine]:
    """The lines of the issues among the events that fulfil the conditions, oldest first."""
    kinds = events.c.kind.in_([kind.value for kind in _KINDS])
    return lines(view, view.events(kinds, *where))


def of_copy(view: Reading, copy: CopyRow) -> list[RegisterLine]:
    """The lines of one copy."""
    return register(view, events.c.subject == copy.id)


def of_person(view: Reading, person: PersonRow) -> list[RegisterLine]:
    """The lines of one person, as they stand after corrections, oldest first.

    What happens to an issue names its receiver, so the person's own events make the lines; only
    where a receiver was corrected are the copy's other events looked at.
    """
    mine = view.events(events.c.party == person.id)
    copies = sorted({event.subject for event in mine if event.subject is not None})
    moved = _corrected_receivers(view, copies)
    found = lines(view, (event for event in mine if event.subject not in moved))
    for some in _chunks(sorted(moved)):
        found += register(view, events.c.subject.in_(some))
    name = f"{person.name} #{person.id}"
    kept = [line for line in found if line.receiver == name]
    return sorted(kept, key=lambda line: int(line.receipt.split("-")[0]))


def _corrected_receivers(view: Reading, copies: list[int]) -> set[int]:
    """The copies among these of which an issue got another receiver later."""
    found: set[int] = set()
    for some in _chunks(copies):
        corrected = events.c.kind == EventKind.CORRECTED.value
        for event in view.events(corrected, events.c.subject.in_(some)):
            details = event.details
            if isinstance(details, d.Corrected) and details.field == IssueField.RECEIVER.value:
                found.add(event.subject or 0)
    return found


def _chunks(numbers: list[int]) -> Iterator[list[int]]:
    for start in range(0, len(numbers), _CHUNK):
        yield numbers[start : start + _CHUNK]


def lines(view: Reading, happened: Iterable[Event]) -> list[RegisterLine]:
    """The lines that some events make."""
    happened = list(happened)
    copies = view.many(CopyRow, (event.subject or 0 for event in happened))
    systems = view.many(SystemRow, (event.system or 0 for event in happened))
    people = view.many(PersonRow, (event.party or 0 for event in happened))
    found: dict[int, RegisterLine] = {}
    open_issue: dict[int, int] = {}
    for event in happened:
        copy = copies.get(event.subject or 0)
        if copy is None or event.system is None:  # a correction of a person
            continue
        person = people.get(event.party or 0)
        name = f"{person.name} #{person.id}" if person else ""
        if isinstance(event.details, d.Issued):
            found[event.seq] = _first(event, event.details, copy, systems[event.system].name, name)
            open_issue[copy.id] = event.seq
            continue
        seq = getattr(event.details, "of", None) or open_issue.get(copy.id, 0)
        if seq in found:
            found[seq] = _later(found[seq], event, name)
    return list(found.values())


def _first(
    event: Event, details: d.Issued, copy: CopyRow, system: str, receiver: str
) -> RegisterLine:
    return RegisterLine(
        receipt=event.receipt,
        system=system,
        key=copy.name,
        key_number=copy.stamp,
        out_at=details.out_at or event.at,
        issuer=details.issuer or event.who,
        issuer_signature=details.issuer_signature,
        receiver=receiver,
        receiver_signature=details.receiver_signature,
        due=details.due,
    )


def _later(line: RegisterLine, event: Event, name: str) -> RegisterLine:
    details = event.details
    if isinstance(details, d.Signed):
        return replace(
            line,
            issuer_signature=details.issuer_signature or line.issuer_signature,
            receiver_signature=details.receiver_signature or line.receiver_signature,
        )
    if isinstance(details, d.Corrected):
        field = IssueField(details.field)
        if field is IssueField.DUE:
            return replace(line, due=details.after)
        if field is IssueField.RECEIVER:
            return replace(line, receiver=name)
        return replace(line, void=True, ended=event.kind.value)
    if isinstance(details, d.Returned):
        return replace(
            line,
            back_at=event.at,
            received_by=event.who,
            back_signature=details.signature,
            ended=event.kind.value,
        )
    return line if line.ended else replace(line, ended=event.kind.value)


def of_receipt(view: Reading, seq: int) -> RegisterLine | Finding:
    """The line of one issue, or of the issue that a return ended."""
    event = view.event(seq)
    if event is not None and isinstance(event.details, d.Returned):
        event = view.event(event.details.of)
    if event is None or event.kind is not EventKind.ISSUED:
        return fault("ledger-unknown", what="receipt", name=str(seq), where="")
    found = register(view, events.c.subject == event.subject)
    return next(line for line in found if line.receipt == event.receipt)
