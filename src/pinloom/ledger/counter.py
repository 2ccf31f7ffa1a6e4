"""Over the counter: issue, return, overdue, lost, found, destroyed, corrected.

Register fields as in key control practice (US Army subcourses MP1001 and MM0170): key number, date
and time out, issuer's and receiver's name and signature, date and time back. Lock or core is
replaced at once when a key is lost; the ledger says which doors that concerns.

Refused here: a key that is out, lost or destroyed; a copy over the limit; a lost combination; a key
that the approved revision does not know or cuts otherwise.
"""

from pinloom.core.findings import Finding, caution, fault, has_fault, note
from pinloom.ledger import details as d
from pinloom.ledger import lookup
from pinloom.ledger.events import Event, EventKind
from pinloom.ledger.fold_keys import IssueField
from pinloom.ledger.people import bad_date
from pinloom.ledger.rows import (
    CombinationRow,
    CopyRow,
    CopyState,
    KeyRow,
    OpensRow,
    PersonRow,
    SystemRow,
)
from pinloom.ledger.view import Reading, Writing, table_of, tidy
from pinloom.ledger.workshop import copies_of, lost_combination


def issue(
    tx: Writing,
    key: str,
    person: str,
    *,
    due: str = "",
    issuer_signature: str = "",
    receiver_signature: str = "",
    why: str = "",
) -> list[Finding]:
    """Hand a copy to a person."""
    copy, to = lookup.copy(tx, key), lookup.person(tx, person)
    said = [row for row in (copy, to) if isinstance(row, Finding)]
    said += bad_date(due)
    if due and not said and due < tx.today:
        said.append(fault("ledger-due-past", due=due, today=tx.today))
    if isinstance(copy, CopyRow):
        said += _may_go(tx, copy)
    if has_fault(said) or isinstance(copy, Finding) or isinstance(to, Finding):
        return said
    details = d.Issued(
        due=due,
        issuer=tx.who,
        issuer_signature=tidy(issuer_signature),
        receiver_signature=tidy(receiver_signature),
    )
    event = _happened(tx, EventKind.ISSUED, details, copy, to.id, why)
    if not details.issuer_signature or not details.receiver_signature:
        said.append(note("ledger-unsigned", receipt=event.receipt))
    return said


def _may_go(tx: Writing, copy: CopyRow) -> list[Finding]:
    state = CopyState(copy.state)
    if state is CopyState.OUT:
        holder = tx.get(PersonRow, copy.holder)
        name = holder.name if holder else ""
        return [fault("ledger-is-out", stamp=copy.stamp, holder=name, since=copy.out_at[:10])]
    if state is not CopyState.IN:
        return [fault("ledger-not-at-hand", stamp=copy.stamp, state=state.value)]
    owner = tx.get(SystemRow, copy.system)
    assert owner is not None
    key = tx.get(KeyRow, owner.id, owner.approved, copy.name)
    if key is None:
        return [fault("ledger-not-approved", system=owner.name, revision=owner.latest)]
    said = lost_combination(tx, owner, copy.name, copy.combination)
    if key.combination != copy.combination:
        said.append(fault("ledger-old-cuts", stamp=copy.stamp, key=copy.name))
    out = [one for one in copies_of(tx, owner, copy.name) if one.state == CopyState.OUT.value]
    if 0 <= key.copies < len(out) + 1:
        said.append(
            fault("ledger-over-limit", key=copy.name, limit=key.copies, exist=len(out), more=1)
        )
    return said


def take_back(tx: Writing, key: str, *, signature: str = "", why: str = "") -> list[Finding]:
    """A copy comes back."""
    copy = lookup.copy(tx, key)
    if isinstance(copy, Finding):
        return [copy]
    if copy.state != CopyState.OUT.value:
        return [fault("ledger-not-out", stamp=copy.stamp, state=copy.state)]
    details = d.Returned(of=copy.issue, signature=tidy(signature))
    _happened(tx, EventKind.RETURNED, details, copy, copy.holder, why)
    known = tx.get(CombinationRow, copy.system, copy.name, copy.combination)
    if known is not None and known.lost:
        return [caution("ledger-back-but-lost", key=copy.name)]
    return []


def note_overdue(tx: Writing) -> list[Finding]:
    """Record, once an issue, every copy that is due and not back."""
    table = table_of(CopyRow)
    late = tx.rows(
        CopyRow,
        table.c.state == CopyState.OUT.value,
        table.c.due != "",
        table.c.due < tx.today,
        table.c.overdue == 0,
    )
    for copy in late:
        details = d.Overdue(of=copy.issue, due=copy.due)
        _happened(tx, EventKind.OVERDUE, details, copy, copy.holder)
    return []


def lose(tx: Writing, key: str, why: str) -> list[Finding]:
    """A copy is lost: its combination is not handed out again, and its doors are named."""
    copy = lookup.copy(tx, key)
    if isinstance(copy, Finding):
        return [copy]
    if copy.state not in (CopyState.IN.value, CopyState.OUT.value):
        return [fault("ledger-not-at-hand", stamp=copy.stamp, state=copy.state)]
    if not tidy(why):
        return [fault("ledger-no-reason")]
    _happened(tx, EventKind.LOST, d.Lost(of=copy.issue or None), copy, copy.holder or None, why)
    doors = _doors_of(tx, copy)
    return [caution("ledger-lost-opens", stamp=copy.stamp, doors=len(doors), key=copy.name)]


def find(tx: Writing, key: str, why: str, *, trusted: bool = False) -> list[Finding]:
    """A lost copy is back in the cabinet."""
    copy = lookup.copy(tx, key)
    if isinstance(copy, Finding):
        return [copy]
    if copy.state != CopyState.LOST.value:
        return [fault("ledger-not-lost", stamp=copy.stamp, state=copy.state)]
    if not tidy(why):
        return [fault("ledger-no-reason")]
    _happened(tx, EventKind.FOUND, d.Found(trusted=trusted), copy, why=why)
    known = tx.get(CombinationRow, copy.system, copy.name, copy.combination)
    if known is not None and known.lost:
        return [caution("ledger-still-lost", key=copy.name)]
    return []


def trust(tx: Writing, system: str, key: str, why: str) -> list[Finding]:
    """Somebody answers for a lost combination: it may be handed out again."""
    owner = lookup.system(tx, system)
    if isinstance(owner, Finding):
        return [owner]
    row = lookup.key(tx, owner, owner.latest, key)
    if isinstance(row, Finding):
        return [row]
    if not tidy(why):
        return [fault("ledger-no-reason")]
    known = tx.get(CombinationRow, owner.id, row.name, row.combination)
    if known is None or known.lost == 0:
        return [fault("ledger-not-lost", stamp=row.name, state="not lost")]
    details = d.Trusted(combination=row.combination)
    tx.append(EventKind.TRUSTED, details, system=owner.id, name=row.name, why=why)
    return []


def destroy(tx: Writing, key: str, why: str, witness: str = "") -> list[Finding]:
    """A copy is made useless for good."""
    copy = lookup.copy(tx, key)
    if isinstance(copy, Finding):
        return [copy]
    if copy.state not in (CopyState.IN.value, CopyState.OUT.value):
        return [fault("ledger-not-at-hand", stamp=copy.stamp, state=copy.state)]
    if not tidy(why):
        return [fault("ledger-no-reason")]
    details = d.Destroyed(witness=tidy(witness))
    _happened(tx, EventKind.DESTROYED, details, copy, copy.holder or None, why)
    return []


def sign(
    tx: Writing, receipt: str, issuer_signature: str = "", receiver_signature: str = ""
) -> list[Finding]:
    """Signatures for an issue: where the signed paper is, or how they were given."""
    event = _issue(tx, receipt)
    if isinstance(event, Finding):
        return [event]
    if not tidy(issuer_signature) and not tidy(receiver_signature):
        return [fault("ledger-no-signature")]
    details = d.Signed(
        of=event.seq,
        issuer_signature=tidy(issuer_signature),
        receiver_signature=tidy(receiver_signature),
    )
    tx.append(
        EventKind.SIGNED,
        details,
        system=event.system,
        subject=event.subject,
        party=event.party,
        name=event.name,
    )
    return []


def correct(tx: Writing, receipt: str, field: str, value: str, why: str) -> list[Finding]:
    """An issue was recorded wrongly: another due date, another receiver, or it never happened."""
    event = _issue(tx, receipt)
    if isinstance(event, Finding):
        return [event]
    known = {one.value: one for one in IssueField}
    if field not in known:
        return [fault("ledger-no-such-field", field=field, known=", ".join(known))]
    if not tidy(why):
        return [fault("ledger-no-reason")]
    copy = tx.get(CopyRow, event.subject or 0)
    party, after = event.party, tidy(value)
    if known[field] is IssueField.DUE:
        if said := bad_date(after):
            return said
        before = copy.due if copy and copy.issue == event.seq else ""
    elif known[field] is IssueField.RECEIVER:
        to = lookup.person(tx, value)
        if isinstance(to, Finding):
            return [to]
        before, party, after = f"#{event.party}", to.id, f"#{to.id}"
    else:
        before = ""
        if copy is None or copy.issue != event.seq or copy.state != CopyState.OUT.value:
            return [fault("ledger-issue-closed", receipt=event.receipt)]
    tx.append(
        EventKind.CORRECTED,
        d.Corrected(of=event.seq, field=field, before=before, after=after),
        system=event.system,
        subject=event.subject,
        party=party,
        name=event.name,
        why=why,
    )
    return []


def _issue(view: Reading, receipt: str) -> Event | Finding:
    """The issue that a receipt's number names (``12`` or ``12-1f00...``)."""
    number, _, tail = tidy(receipt).partition("-")
    event = view.event(int(number)) if number.isdecimal() and len(number) < 18 else None
    known = event is not None and event.kind is EventKind.ISSUED
    if event is None or not known or not event.hash.startswith(tail):
        return fault("ledger-unknown", what="receipt", name=tidy(receipt), where="")
    return event


def _doors_of(view: Reading, copy: CopyRow) -> list[OpensRow]:
    owner = view.get(SystemRow, copy.system)
    table = table_of(OpensRow)
    return view.rows(
        OpensRow,
        table.c.system == copy.system,
        table.c.revision == (owner.latest if owner else 0),
        table.c.name == copy.name,
    )


def _happened(
    tx: Writing,
    kind: EventKind,
    details: d.Details,
    copy: CopyRow,
    party: int | None = None,
    why: str = "",
) -> Event:
    """Record what happened to a copy."""
    return tx.append(
        kind, details, system=copy.system, subject=copy.id, name=copy.name, party=party, why=why
    )
