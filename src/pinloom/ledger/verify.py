"""Whether the ledger is what was recorded.

Theory. Rows are read in the order of their numbers. Of each, the hash is worked out from its fields
and compared with the one it carries, and the one it carries of the row before with that row's:

- numbers skip: the rows between are *missing*;
- own hash wrong: the row was *altered* (whichever field, the hash itself included); or, when what
  it carries of the row before is the hash of some other row, it stands *out of place*;
- own hash right, but the row before has another hash: that one was rewritten together with its
  hash.

A row counts as followed when the next one carries either its stored or its true hash, so that one
altered field names one row. Then the sealed bodies are compared with the hashes in their events,
the events are folded afresh and every state row is compared, and the last row with ``head``.

What this cannot see: the last rows removed together with everything made from them, or a chain
rewritten whole. An anchor outside can: the number on any receipt, given as ``anchors``.
"""

import hashlib
from collections.abc import Generator, Iterable, Iterator
from contextlib import closing
from dataclasses import dataclass, field

from sqlalchemy import select, text

from pinloom.core.findings import Finding, caution, fault
from pinloom.ledger import details as d
from pinloom.ledger import fold
from pinloom.ledger.events import (
    CHAINED,
    NO_HASH,
    Event,
    Stored,
    hash_of,
    read,
)
from pinloom.ledger.folding import Incoherent, Memory
from pinloom.ledger.rows import Row, made
from pinloom.ledger.schema import STATE_TABLES, TRIGGERS, sealed
from pinloom.ledger.view import Reading, set_back
from pinloom.vault import Strongbox

_HASHED = len(CHAINED)
_BATCH = 5000
MOST_NAMED = 200  # findings of one kind before the rest is only counted


@dataclass(slots=True, kw_only=True)
class Checked:
    """What a verification saw."""

    events: int = 0
    last: str = ""  # hash of the last event
    findings: list[Finding] = field(default_factory=list)

    @property
    def sound(self) -> bool:
        """Whether nothing is wrong; a clock set back is no fault."""
        return all(one.severity.value != "fault" for one in self.findings)


@dataclass(slots=True, kw_only=True)
class _Walk:
    checked: Checked
    state: Memory = field(default_factory=Memory)
    foldable: bool = True
    doubtful: dict[int, str] = field(default_factory=dict)  # row -> what it says came before it
    boxes: list[str] = field(default_factory=list)
    bodies: dict[int, str] = field(default_factory=dict)


def verify(view: Reading, anchors: Iterable[str] = ()) -> Checked:
    """Check everything. ``anchors`` = numbers of receipts to find in the chain."""
    checked = Checked()
    checked.findings += _integrity(view)
    checked.findings += _triggers(view)
    walk = _Walk(checked=checked)
    wanted = dict(_anchor(one) for one in anchors)
    with closing(_stored(view)) as rows:
        for event in chain(rows, walk):
            if event.seq in wanted and not event.hash.startswith(wanted.pop(event.seq)):
                checked.findings.append(fault("ledger-anchor-differs", seq=event.seq))
    checked.findings += _doubts(view, walk)
    checked.findings += [fault("ledger-anchor-missing", seq=seq) for seq in wanted]
    checked.findings += _bodies(view, walk)
    checked.findings += _keeper(view, walk)
    if walk.foldable:
        checked.findings += _state(view, walk.state)
    return checked


def _anchor(text_of: str) -> tuple[int, str]:
    number, _, tail = text_of.strip().partition("-")
    return (int(number) if number.isdecimal() else 0), tail


def chain(rows: Iterable[Stored], walk: _Walk) -> Iterator[Event]:
    """Check rows in the order given, fold them, and pass on the events that can be read.

    Rows whose own hash is wrong are left in ``walk.doubtful`` for ``_doubts`` to tell apart.
    """
    say = walk.checked.findings
    before = true_before = NO_HASH
    number, at, doubted = 0, "", False
    for row in rows:
        seq, carried, stored_hash = row[0], row[11], row[12]
        if seq != number + 1:
            say.append(_missing(number + 1, seq - 1))
            doubted = True
        true = hash_of(row[:_HASHED])
        follows = carried in (before, true_before)
        if true != stored_hash:
            walk.doubtful[seq] = "" if follows else carried
        elif not follows and not doubted:
            say.append(fault("ledger-broken", seq=seq, before=seq - 1))
        event = read(row)
        if event is None and true == stored_hash:
            say.append(fault("ledger-unreadable", seq=seq))
        before_doubted, doubted = doubted, true != stored_hash
        walk.foldable = walk.foldable and follows and not doubted and event is not None
        if event is not None:
            if not doubted and not before_doubted:
                _clock(event, at, say)
            _take(event, walk)
            yield event
        number, at, before, true_before = seq, row[1], stored_hash, true
    walk.checked.events, walk.checked.last = number, before


def _doubts(view: Reading, walk: _Walk) -> list[Finding]:
    """Of each doubtful row, whether it was altered or stands where another one stood."""
    wanted = set(walk.doubtful.values()) - {""}
    place_of: dict[str, int] = {}
    if wanted:
        query = text("SELECT seq, hash FROM events")
        place_of = {row[1]: row[0] for row in view.connection.execute(query) if row[1] in wanted}
    found = []
    for seq, carried in walk.doubtful.items():
        after = place_of.get(carried)
        if after is None or after == seq:
            found.append(fault("ledger-altered", seq=seq))
        else:
            found.append(fault("ledger-out-of-place", seq=seq, after=after))
    return found


def _missing(first: int, last: int) -> Finding:
    if first == last:
        return fault("ledger-missing", seq=first)
    return fault("ledger-missing-run", first_seq=first, last_seq=last)


def _clock(event: Event, before: str, say: list[Finding]) -> None:
    try:
        back = set_back(before, event.at)
    except ValueError:
        return  # an altered time; said already
    if back != bool(event.flag):
        say.append(fault("ledger-time-unmarked", seq=event.seq))
    elif event.flag:
        say.append(caution("ledger-clock-back", seq=event.seq, at=event.at, before=before))


def _take(event: Event, walk: _Walk) -> None:
    if isinstance(event.details, d.Opened):
        walk.boxes.append(event.details.box)
    if isinstance(event.details, d.Revision):
        walk.bodies[event.seq] = event.details.sealed
    if not walk.foldable:
        return
    try:
        fold.apply(walk.state, event)
    except Incoherent:
        walk.foldable = False
        walk.checked.findings.append(fault("ledger-incoherent", seq=event.seq))


def _stored(view: Reading) -> Generator[Stored, None, None]:
    names = ", ".join([*CHAINED, "hash"])
    query = text(f"SELECT {names} FROM events ORDER BY seq")  # noqa: S608 (our own names)
    with view.connection.execute(query, execution_options={"yield_per": _BATCH}) as rows:
        for row in rows:
            yield tuple(row)


def _integrity(view: Reading) -> list[Finding]:
    if view.connection.dialect.name != "sqlite":
        return []
    said = [str(row[0]) for row in view.connection.execute(text("PRAGMA integrity_check(5)"))]
    return [] if said == ["ok"] else [fault("ledger-file-damaged", count=len(said))]


def _triggers(view: Reading) -> list[Finding]:
    if view.connection.dialect.name == "sqlite":
        query = "SELECT name FROM sqlite_master WHERE type = 'trigger'"
    else:
        query = (
            "SELECT t.tgname FROM pg_trigger t JOIN pg_class c ON c.oid = t.tgrelid "
            "JOIN pg_namespace n ON n.oid = c.relnamespace "
            "WHERE t.tgenabled = 'O' AND NOT t.tgisinternal AND n.nspname = current_schema()"
        )
    present = {str(row[0]) for row in view.connection.execute(text(query))}
    gone = [name for name in TRIGGERS if name not in present]
    return [fault("ledger-unguarded", triggers=", ".join(gone))] if gone else []


def _bodies(view: Reading, walk: _Walk) -> list[Finding]:
    found: list[Finding] = []
    known = dict(walk.bodies)
    for seq, body in view.connection.execute(select(sealed.c.seq, sealed.c.body)):
        wanted = known.pop(seq, None)
        if wanted is None:
            found.append(fault("ledger-seal-stray", seq=seq))
        elif hashlib.sha256(body).hexdigest() != wanted:
            found.append(fault("ledger-seal-altered", seq=seq))
    return found + [fault("ledger-seal-missing", seq=seq) for seq in known]


def _keeper(view: Reading, walk: _Walk) -> list[Finding]:
    found: list[Finding] = []
    end = view.head()
    if (end.seq, end.hash) != (walk.checked.events, walk.checked.last):
        found.append(fault("ledger-head-differs", head=end.seq, last=walk.checked.events))
    box = Strongbox.parse(view.strongbox())
    if box is None or (walk.boxes and box.fingerprint() != walk.boxes[-1]):
        found.append(fault("ledger-strongbox-altered"))
    return found


def _state(view: Reading, state: Memory) -> list[Finding]:
    found: list[Finding] = []
    for kind, table in STATE_TABLES.items():
        wanted = dict(state.rows.get(kind, {}))
        query = select(table).execution_options(yield_per=_BATCH)
        with view.connection.execute(query) as rows:
            for row in rows:
                there = made(kind, row)
                if wanted.pop(there.key(), None) != there:
                    found.append(_wrong_row(table.name, there))
        found += [_wrong_row(table.name, row) for row in wanted.values()]
    return found[:MOST_NAMED]


def _wrong_row(table: str, row: Row) -> Finding:
    key = ", ".join(str(part) for part in row.key())
    return fault("ledger-state-altered", table=table.removeprefix("now_"), key=key)
