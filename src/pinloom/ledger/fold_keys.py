"""The fold of what happens to copies of keys."""

from dataclasses import replace
from enum import Enum

from pinloom.ledger import details as d
from pinloom.ledger.events import Event, EventKind
from pinloom.ledger.fold_system import combination
from pinloom.ledger.folding import State, created, demand, look, need
from pinloom.ledger.rows import (
    BlankRow,
    CombinationRow,
    CopyRow,
    CopyState,
    KeyRow,
    LookupKind,
    OrderRow,
    PersonRow,
    SystemRow,
)


class IssueField(Enum):
    """What of an issue can be corrected."""

    DUE = "due"
    RECEIVER = "receiver"
    VOID = "void"  # it never happened


def ordered(state: State, event: Event, details: d.Ordered) -> None:
    """Copies of a key are wanted."""
    owner = need(state, SystemRow, event.system)
    person = need(state, PersonRow, event.party)
    state.put(
        OrderRow(
            id=created(event),
            system=owner.id,
            name=event.name,
            person=person.id,
            copies=details.copies,
            blank=details.blank,
            cut=0,
        )
    )


def cut(state: State, event: Event, details: d.Cut) -> None:
    """A copy exists: cut from an approved revision, or registered because it existed before."""
    owner = need(state, SystemRow, event.system)
    if event.kind is EventKind.CUT:
        key = need(state, KeyRow, owner.id, owner.approved, event.name)
        demand(details.revision == owner.approved, "cut from the approved revision")
        demand(details.combination == key.combination, "cut to its combination")
        _use_blank(state, details)
        _use_order(state, event, details)
    combination(state, owner.id, event.name, details.combination)
    number = created(event)
    state.put(
        CopyRow(
            id=number,
            system=owner.id,
            name=event.name,
            number=details.number,
            stamp=details.stamp,
            combination=details.combination,
            revision=details.revision,
            blank=details.blank,
            state=CopyState.IN.value,
            holder=0,
            issue=0,
            out_at="",
            due="",
            overdue=0,
        )
    )
    look(state, LookupKind.COPY, owner.id, number, details.stamp, event.name)


def _use_blank(state: State, details: d.Cut) -> None:
    if details.blank:
        stock = need(state, BlankRow, details.blank)
        state.put(replace(stock, cut=stock.cut + 1))


def _use_order(state: State, event: Event, details: d.Cut) -> None:
    if details.order is not None:
        order = need(state, OrderRow, details.order)
        demand(order.system == event.system and order.name == event.name, "the order's key")
        demand(order.cut < order.copies, "no more than ordered")
        state.put(replace(order, cut=order.cut + 1))


def issued(state: State, event: Event, details: d.Issued) -> None:
    """A copy goes out. One taken over from an older register carries its own date."""
    copy = _copy(state, event)
    person = need(state, PersonRow, event.party)
    demand(copy.state == CopyState.IN.value, "only a copy that is in is issued")
    if not details.out_at:
        owner = need(state, SystemRow, copy.system)
        key = need(state, KeyRow, owner.id, owner.approved, copy.name)
        demand(key.combination == copy.combination, "issued from the approved revision")
        safe = need(state, CombinationRow, copy.system, copy.name, copy.combination)
        demand(safe.lost == 0, "a lost combination is not issued")
    state.put(
        replace(
            copy,
            state=CopyState.OUT.value,
            holder=person.id,
            issue=event.seq,
            out_at=details.out_at or event.at,
            due=details.due,
            overdue=0,
        )
    )


def returned(state: State, event: Event, details: d.Returned) -> None:
    """A copy is back."""
    copy = _copy(state, event)
    demand(copy.state == CopyState.OUT.value, "only a copy that is out comes back")
    demand(copy.issue == details.of, "returned from its own issue")
    state.put(_at_home(copy))


def overdue(state: State, event: Event, details: d.Overdue) -> None:
    """A copy should be back and is not."""
    copy = _copy(state, event)
    demand(copy.issue == details.of and copy.due == details.due, "overdue from its own issue")
    state.put(replace(copy, overdue=event.seq))


def lost(state: State, event: Event) -> None:
    """A copy is lost, and its combination with it."""
    copy = _copy(state, event)
    demand(copy.state in (CopyState.IN.value, CopyState.OUT.value), "lost once")
    state.put(replace(copy, state=CopyState.LOST.value))
    known = combination(state, copy.system, copy.name, copy.combination)
    state.put(replace(known, lost=known.lost + 1))


def found(state: State, event: Event, details: d.Found) -> None:
    """A lost copy is back; its combination is safe again only if it was never out of trust."""
    copy = _copy(state, event)
    demand(copy.state == CopyState.LOST.value, "only a lost copy is found")
    state.put(_at_home(copy))
    if details.trusted:
        known = need(state, CombinationRow, copy.system, copy.name, copy.combination)
        state.put(replace(known, lost=max(known.lost - 1, 0)))


def trusted(state: State, event: Event, details: d.Trusted) -> None:
    """Somebody answers for a combination again."""
    known = need(state, CombinationRow, event.system, event.name, details.combination)
    state.put(replace(known, lost=0))


def destroyed(state: State, event: Event) -> None:
    """A copy is no more."""
    copy = _copy(state, event)
    demand(copy.state in (CopyState.IN.value, CopyState.OUT.value), "only a copy at hand")
    state.put(replace(_at_home(copy), state=CopyState.DESTROYED.value))


def corrected(state: State, event: Event, details: d.Corrected) -> None:
    """An issue was recorded wrongly. Closed issues change in the register only."""
    copy = _copy(state, event)
    demand(details.field in {f.value for f in IssueField}, f"an issue has no {details.field}")
    field = IssueField(details.field)
    if copy.issue != details.of:
        return
    if field is IssueField.DUE:
        state.put(replace(copy, due=details.after, overdue=0))
    elif field is IssueField.RECEIVER:
        state.put(replace(copy, holder=need(state, PersonRow, event.party).id))
    else:
        demand(copy.state == CopyState.OUT.value, "only an open issue is void")
        state.put(_at_home(copy))


def _copy(state: State, event: Event) -> CopyRow:
    copy = need(state, CopyRow, event.subject)
    demand(copy.system == event.system and copy.name == event.name, "the copy's own key")
    return copy


def _at_home(copy: CopyRow) -> CopyRow:
    return replace(copy, state=CopyState.IN.value, holder=0, issue=0, out_at="", due="", overdue=0)
