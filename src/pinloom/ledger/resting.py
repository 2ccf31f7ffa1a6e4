"""Combinations that may be offered again, and doors known to be clean of a key.

The rule is ``core.reuse``; here is what the books know: where each copy is, who had it last, when
it came back, and which doors still turn to the combination. A door turns to it when it is pinned to
a revision in which the combination opens it; where the books do not hold all cylinders of a door,
any revision may be in it.

Nothing here holds a cut.
"""

from collections import defaultdict
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from datetime import date

from pinloom.core.chart import KeyStanding
from pinloom.core.reuse import CopyPast, Standing, Whereabouts, standing
from pinloom.ledger import details as d
from pinloom.ledger.events import Event, EventKind
from pinloom.ledger.fold_keys import IssueField
from pinloom.ledger.inventory import DifferenceKind, SeenKind
from pinloom.ledger.rows import (
    CombinationRow,
    CopyRow,
    CopyState,
    CylinderRow,
    DoorRow,
    KeyRow,
    OpensRow,
    PersonRow,
    RevisionRow,
    SystemRow,
)
from pinloom.ledger.schema import events
from pinloom.ledger.view import Reading, table_of

DayOf = Callable[[str], date]  # the shop's day of an event's time
_KINDS = (
    EventKind.REGISTERED,
    EventKind.ISSUED,
    EventKind.RETURNED,
    EventKind.LOST,
    EventKind.FOUND,
    EventKind.DESTROYED,
    EventKind.CORRECTED,
    EventKind.INVENTORIED,
)
#: after one of these a copy is at hand, or no more; its rest counts from there
_BACK = (EventKind.REGISTERED, EventKind.RETURNED, EventKind.FOUND, EventKind.DESTROYED)
_STATES = {
    CopyState.IN.value: Whereabouts.CABINET,
    CopyState.OUT.value: Whereabouts.OUT,
    CopyState.LOST.value: Whereabouts.LOST,
    CopyState.DESTROYED.value: Whereabouts.DESTROYED,
}
_DISPUTES = (DifferenceKind.MISSING, DifferenceKind.ELSEWHERE, DifferenceKind.SHOULD_NOT_BE)


@dataclass(frozen=True, slots=True, kw_only=True)
class Combination:
    """A combination of a key symbol. ``in_use`` = an active key of the approved revision has it;
    ``doors`` = those that turn to it as far as the books know.
    """

    key: str
    combination: int
    in_use: bool
    copies: tuple[CopyPast, ...]
    standing: Standing
    doors: tuple[str, ...]

    @property
    def clean(self) -> bool:
        """Whether its doors are known to be clean: every copy is accounted for, or no door turns
        to it any more.
        """
        return self.standing.accounted or not self.doors


def combinations(view: Reading, owner: SystemRow, rest: int, day_of: DayOf) -> list[Combination]:
    """Every combination that a system has had, by key symbol and number. ``rest`` in days."""
    known = {
        (row.name, row.combination): row.lost > 0
        for row in view.rows(CombinationRow, table_of(CombinationRow).c.system == owner.id)
    }
    keys = view.rows(KeyRow, table_of(KeyRow).c.system == owner.id)
    for row in keys:
        known.setdefault((row.name, row.combination), False)
    used = {
        (row.name, row.combination)
        for row in keys
        if row.revision == owner.approved and row.standing == KeyStanding.ACTIVE.value
    }
    copies = _copies(view, owner, day_of)
    doors = _doors(view, owner, keys)
    today = date.fromisoformat(view.today)
    return [
        Combination(
            key=name,
            combination=number,
            in_use=(name, number) in used,
            copies=copies.get((name, number), ()),
            standing=standing(
                copies.get((name, number), ()), rest, today, distrusted=known[name, number]
            ),
            doors=doors.get((name, number), ()),
        )
        for name, number in sorted(known)
    ]


def _copies(
    view: Reading, owner: SystemRow, day_of: DayOf
) -> dict[tuple[str, int], tuple[CopyPast, ...]]:
    """The copies of each combination, with those of a key symbol whose numbers are not on record:
    they may be of any combination of it.
    """
    rows = view.rows(CopyRow, table_of(CopyRow).c.system == owner.id)
    kinds = events.c.kind.in_([kind.value for kind in _KINDS])
    told = view.events(kinds, events.c.system == owner.id)
    disputed = _disputed(told, {row.stamp: row for row in rows})
    last = _last_holders(told)
    since = {e.subject: day_of(e.at) for e in told if e.kind in _BACK}
    holders = {row.id: row.holder or last.get(row.id, 0) for row in rows}
    people = view.many(PersonRow, holders.values())
    found: dict[tuple[str, int], list[CopyPast]] = defaultdict(list)
    numbers: dict[str, set[int]] = defaultdict(set)
    for row in rows:
        where = Whereabouts.DISPUTED if row.id in disputed else _STATES[row.state]
        holder = people.get(holders[row.id])
        numbers[row.name].add(row.number)
        found[row.name, row.combination].append(
            CopyPast(
                stamp=row.stamp,
                where=where,
                holder=holder.name if holder else "",
                since=since.get(row.id),
            )
        )
    for (name, _), group in found.items():
        gaps = set(range(1, max(numbers[name]))) - numbers[name]
        group += [
            CopyPast(stamp=f"copy {number}", where=Whereabouts.NO_RECORD) for number in sorted(gaps)
        ]
    return {at: tuple(group) for at, group in found.items()}


def _last_holders(told: Iterable[Event]) -> dict[int, int]:
    """Copy -> the person who had it last, corrections heeded."""
    last: dict[int, int] = {}
    for event in told:
        details = event.details
        renamed = (
            isinstance(details, d.Corrected) and details.field == IssueField.RECEIVER.value
        ) or event.kind is EventKind.ISSUED
        if renamed and event.subject is not None and event.party is not None:
            last[event.subject] = event.party
    return last


def _disputed(told: Iterable[Event], by_stamp: Mapping[str, CopyRow]) -> set[int]:
    """Copies at hand or destroyed by the books, which the last count saw otherwise; whatever was
    recorded of a copy since settles it.
    """
    found: set[int] = set()
    prefix = f"{SeenKind.KEY.value} "
    kinds = {kind.value for kind in _DISPUTES}
    for event in told:
        if isinstance(event.details, d.Inventoried):
            marks = [
                one.mark.removeprefix(prefix)
                for one in event.details.differences
                if one.what in kinds and one.mark.startswith(prefix)
            ]
            found = {by_stamp[mark].id for mark in marks if mark in by_stamp}
        else:
            found.discard(event.subject or 0)
    at_hand = (CopyState.IN.value, CopyState.DESTROYED.value)
    return {row.id for row in by_stamp.values() if row.id in found and row.state in at_hand}


def _doors(
    view: Reading, owner: SystemRow, keys: Iterable[KeyRow]
) -> dict[tuple[str, int], tuple[str, ...]]:
    """The doors that turn to each combination, by their names."""
    pinned: dict[str, list[int]] = defaultdict(list)
    for row in view.rows(CylinderRow, table_of(CylinderRow).c.system == owner.id):
        if row.door and row.pinned_for == row.door:
            pinned[row.door].append(row.revision)
    table = table_of(RevisionRow)
    every = {row.number for row in view.rows(RevisionRow, table.c.system == owner.id)}
    counts = {
        row.name: row.count
        for row in view.rows(DoorRow, table_of(DoorRow).c.system == owner.id)  # newest last
    }
    inside = {
        door: set(pinned[door]) if len(pinned[door]) >= count else every
        for door, count in counts.items()
    }
    number = {(row.revision, row.name): row.combination for row in keys}
    found: dict[tuple[str, int], set[str]] = defaultdict(set)
    for one in view.rows(OpensRow, table_of(OpensRow).c.system == owner.id):
        if one.revision in inside[one.door]:
            found[one.name, number[one.revision, one.name]].add(one.door)
    return {at: tuple(sorted(doors)) for at, doors in found.items()}
