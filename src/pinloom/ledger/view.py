"""What an action sees of a ledger, and how it adds to it.

``Reading`` is one consistent view. ``Writing`` holds the lock of the chain as well: each event it
appends is chained to the last and folded into the state tables in the same transaction, so chain
and state cannot part.
"""

import unicodedata
from collections.abc import Iterable
from dataclasses import dataclass, fields, replace
from datetime import UTC, datetime, timedelta
from functools import cache
from typing import TypeVar

from sqlalchemy import (
    ColumnElement,
    Connection,
    Executable,
    Select,
    Table,
    insert,
    select,
    update,
)

from pinloom.core.findings import Finding, fault
from pinloom.core.names import clean
from pinloom.ledger import fold
from pinloom.ledger.database import Trouble
from pinloom.ledger.details import Details
from pinloom.ledger.events import (
    CHAINED,
    CLOCK_SET_BACK,
    Event,
    EventKind,
    hash_of,
    read,
    stored,
    write_details,
)
from pinloom.ledger.rows import RevisionRow, Row, SystemRow, made
from pinloom.ledger.schema import STATE_TABLES, events, head, sealed, strongbox
from pinloom.ledger.telling import shows_cuts

R = TypeVar("R", bound=Row)

#: two machines' clocks may differ by so much without anybody having set one back
CLOCK_SLACK = timedelta(seconds=5)
_CHUNK = 500  # numbers in one query


@dataclass(frozen=True, slots=True, kw_only=True)
class Head:
    """The end of the chain."""

    seq: int
    hash: str
    at: str


class Reading:
    """A consistent view of the ledger."""

    def __init__(self, connection: Connection, now: datetime) -> None:
        self.connection = connection
        self.now = now

    @property
    def today(self) -> str:
        """The date at the shop."""
        return self.now.date().isoformat()

    def get(self, kind: type[R], *key: int | str) -> R | None:
        """The row of a primary key, or None."""
        table = STATE_TABLES[kind]
        same = [table.c[name] == part for name, part in zip(kind.KEY, key, strict=True)]
        found = self.connection.execute(select(table).where(*same)).first()
        return None if found is None else made(kind, found)

    def rows(self, kind: type[R], *where: ColumnElement[bool], limit: int | None = None) -> list[R]:
        """The rows that fulfil the conditions, in the order of their keys."""
        table = STATE_TABLES[kind]
        order = [table.c[name] for name in kind.KEY]
        query = select(table).where(*where).order_by(*order).limit(limit)
        return [made(kind, row) for row in self.connection.execute(query)]

    def many(self, kind: type[R], numbers: Iterable[int]) -> dict[int, R]:
        """The rows of a class whose key is one number, by that number."""
        wanted = sorted(set(numbers))
        table = STATE_TABLES[kind]
        (column,) = kind.KEY
        found: dict[int, R] = {}
        for start in range(0, len(wanted), _CHUNK):
            some = table.c[column].in_(wanted[start : start + _CHUNK])
            query = select(table).where(some)
            for row in self.connection.execute(query):
                one = made(kind, row)
                found[int(one.key()[0])] = one
        return found

    def events(self, *where: ColumnElement[bool], last: int | None = None) -> list[Event]:
        """The events that fulfil the conditions, oldest first; with ``last`` the newest so many."""
        query: Select[tuple[object, ...]] = select(events).where(*where)
        if last is not None:
            newest = query.order_by(events.c.seq.desc()).limit(last)
            rows = list(self.connection.execute(newest))[::-1]
        else:
            rows = list(self.connection.execute(query.order_by(events.c.seq)))
        return [_event(tuple(row)) for row in rows]

    def event(self, seq: int) -> Event | None:
        """One event by its number."""
        found = self.events(events.c.seq == seq)
        return found[0] if found else None

    def head(self) -> Head:
        """The end of the chain."""
        row = self.connection.execute(select(head.c.seq, head.c.hash, head.c.at)).one()
        return Head(seq=row.seq, hash=row.hash, at=row.at)

    def sealed(self, seq: int) -> bytes | None:
        """The sealed body that an event brought in."""
        query = select(sealed.c.body).where(sealed.c.seq == seq)
        return self.connection.execute(query).scalar()

    def strongbox(self) -> str:
        """The text of the strongbox."""
        text: str = self.connection.execute(select(strongbox.c.text)).scalar_one()
        return text


def _event(row: tuple[object, ...]) -> Event:
    event = read(row)  # type: ignore[arg-type]
    if event is None:
        raise Trouble(fault("ledger-unreadable", seq=row[0]))
    return event


def table_of(kind: type[Row]) -> Table:
    """The table of a row class, for conditions."""
    return STATE_TABLES[kind]


class Writing(Reading):
    """A transaction that holds the lock of the chain."""

    def __init__(self, connection: Connection, now: datetime, who: str) -> None:
        super().__init__(connection, now)
        self.who = tidy(who)
        self.recorded: list[Event] = []
        self.objections: list[Finding] = []
        self._cache: dict[tuple[type[Row], tuple[int | str, ...]], Row | None] = {}
        self._changed: dict[tuple[type[Row], tuple[int | str, ...]], Row] = {}
        lock = select(head.c.seq, head.c.hash, head.c.at).with_for_update()
        row = connection.execute(lock).one()
        self._head = Head(seq=row.seq, hash=row.hash, at=row.at)

    def head(self) -> Head:
        """The end of the chain, with what this transaction appended."""
        return self._head

    def get(self, kind: type[R], *key: int | str) -> R | None:
        """The row of a primary key as it stands in this transaction, or None."""
        at = (kind, key)
        if at not in self._cache:
            self._cache[at] = super().get(kind, *key)
        found = self._cache[at]
        return found if isinstance(found, kind) else None

    def rows(self, kind: type[R], *where: ColumnElement[bool], limit: int | None = None) -> list[R]:
        """The rows that fulfil the conditions as they stand in this transaction."""
        self.flush()
        return super().rows(kind, *where, limit=limit)

    def many(self, kind: type[R], numbers: Iterable[int]) -> dict[int, R]:
        """The rows by their number as they stand in this transaction."""
        self.flush()
        return super().many(kind, numbers)

    def put(self, row: Row) -> None:
        """Add or replace a row of the state."""
        at = (type(row), row.key())
        self._cache[at] = self._changed[at] = row

    def append(
        self,
        kind: EventKind,
        details: Details,
        *,
        why: str = "",
        system: int | None = None,
        subject: int | None = None,
        party: int | None = None,
        name: str = "",
    ) -> Event:
        """Record an event. A ``subject`` of 0 stands for the event's own number (a new thing)."""
        self._object(why, system)
        seq = self._head.seq + 1
        at = stamp(self.now)
        event = Event(
            seq=seq,
            at=at,
            kind=kind,
            who=self.who,
            why=tidy(why),
            system=seq if kind is EventKind.SYSTEM else system,
            subject=seq if subject == 0 else subject,
            party=party,
            name=tidy(name),
            details=details,
            data=write_details(kind, details),
            flag=CLOCK_SET_BACK if set_back(self._head.at, at) else "",
            prev=self._head.hash,
            hash="",
        )
        event = replace(event, hash=hash_of(stored(event)[: len(CHAINED)]))
        fold.apply(self, event)
        names = (*CHAINED, "hash")
        row = dict(zip(names, stored(event), strict=True))
        self.connection.execute(insert(events), row)
        self._head = Head(seq=seq, hash=event.hash, at=at)
        self.recorded.append(event)
        return event

    def _object(self, why: str, system: int | None) -> None:
        """A reason is readable for ever; it must not be somebody's cuts."""
        owner = self.get(SystemRow, system) if why and system is not None else None
        row = self.get(RevisionRow, owner.id, owner.latest) if owner else None
        if row is not None and shows_cuts(why, row.chambers, row.texts):
            self.objections.append(fault("ledger-reason-shows-cuts"))

    def keep_sealed(self, seq: int, body: bytes) -> None:
        """Keep the sealed body that an event speaks of."""
        self.connection.execute(insert(sealed), {"seq": seq, "body": body})

    def flush(self) -> None:
        """Write the changed rows of the state."""
        by_table: dict[type[Row], list[dict[str, object]]] = {}
        for (kind, _), row in self._changed.items():
            values = {field.name: getattr(row, field.name) for field in fields(row)}
            by_table.setdefault(kind, []).append(values)
        for kind, rows in by_table.items():
            upsert = _upsert(self.connection.dialect.name, kind)  # type: ignore[arg-type]
            self.connection.execute(upsert, rows)
        self._changed.clear()

    def close(self) -> None:
        """Write what is left and the new end of the chain."""
        self.flush()
        if self.recorded:
            end = {"seq": self._head.seq, "hash": self._head.hash, "at": self._head.at}
            self.connection.execute(update(head).values(**end))


@cache
def _upsert(dialect: str, kind: type[Row]) -> Executable:
    """The statement that adds a row or replaces the one of the same key."""
    from sqlalchemy.dialects import postgresql, sqlite

    table = STATE_TABLES[kind]
    upsert: postgresql.Insert | sqlite.Insert
    upsert = postgresql.insert(table) if dialect == "postgresql" else sqlite.insert(table)
    rest = {c.name: upsert.excluded[c.name] for c in table.columns if c.name not in kind.KEY}
    if not rest:
        return upsert.on_conflict_do_nothing()
    return upsert.on_conflict_do_update(index_elements=list(kind.KEY), set_=rest)


def stamp(when: datetime) -> str:
    """A time as events carry it: UTC, microseconds, always of one length."""
    return f"{when.astimezone(UTC):%Y-%m-%dT%H:%M:%S.%fZ}"


def unstamp(text: str) -> datetime:
    """The time of a stamp."""
    return datetime.strptime(text, "%Y-%m-%dT%H:%M:%S.%f%z")


def set_back(before: str, at: str) -> bool:
    """Whether a clock was set back between two stamps."""
    return bool(before) and unstamp(before) - unstamp(at) > CLOCK_SLACK


def tidy(text: str) -> str:
    """A text as it is kept: clean, without control signs and halves of signs."""
    kept = "".join(" " if unicodedata.category(sign) in ("Cc", "Cs") else sign for sign in text)
    return clean(kept)
