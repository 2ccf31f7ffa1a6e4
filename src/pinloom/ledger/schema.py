"""The tables.

Three kinds. *Chain*: ``events`` and ``sealed`` (the sealed cuts and pins an event brought in); rows
are added, never changed or removed, and triggers refuse both. *Keeper*, one row each: ``head`` (the
last event; locked by whoever writes), ``strongbox`` (the wrapped data key), ``attempts`` (wrong
passphrases). *State*: one table ``now_...`` a row class of ``rows``, worked out
from the events.

The migrations make these tables; a test compares them with what is written here.
"""

from dataclasses import fields
from typing import Any, get_type_hints

from sqlalchemy import (
    BigInteger,
    Boolean,
    Column,
    Index,
    Integer,
    LargeBinary,
    MetaData,
    Table,
    Text,
)
from sqlalchemy.types import TypeEngine

from pinloom.ledger.rows import (
    ROWS,
    CopyRow,
    CylinderRow,
    LookupRow,
    OpensRow,
    PersonRow,
    Row,
)

Number = BigInteger().with_variant(Integer, "sqlite")
metadata = MetaData()

events = Table(
    "events",
    metadata,
    Column("seq", Number, primary_key=True, autoincrement=False),
    Column("at", Text, nullable=False),
    Column("kind", Text, nullable=False),
    Column("who", Text, nullable=False),
    Column("why", Text, nullable=False),
    Column("system", Number),
    Column("subject", Number),
    Column("party", Number),
    Column("name", Text, nullable=False),
    Column("data", Text, nullable=False),
    Column("flag", Text, nullable=False),
    Column("prev", Text, nullable=False),
    Column("hash", Text, nullable=False),
    Index("events_subject", "subject", "seq"),
    Index("events_party", "party", "seq"),
    Index("events_name", "system", "name", "seq"),
)

sealed = Table(
    "sealed",
    metadata,
    Column("seq", Number, primary_key=True, autoincrement=False),  # of the event
    Column("body", LargeBinary, nullable=False),
)

head = Table(
    "head",
    metadata,
    Column("id", Integer, primary_key=True, autoincrement=False),
    Column("seq", Number, nullable=False),
    Column("hash", Text, nullable=False),
    Column("at", Text, nullable=False),
    Column("state", Integer, nullable=False),  # the fold's STATE that the tables were made by
)

strongbox = Table(
    "strongbox",
    metadata,
    Column("id", Integer, primary_key=True, autoincrement=False),
    Column("text", Text, nullable=False),
)

attempts = Table(
    "attempts",
    metadata,
    Column("id", Integer, primary_key=True, autoincrement=False),
    Column("failed", Integer, nullable=False),
    Column("last", Text, nullable=False),
)

CHAIN = (events, sealed)
KEEPER = (head, strongbox, attempts)

#: row class -> the columns of each further index
_INDEXES: dict[type[Row], tuple[tuple[str, ...], ...]] = {
    OpensRow: (("system", "revision", "name"),),
    CopyRow: (
        ("holder", "state"),
        ("system", "name", "combination"),
        ("state", "due"),
        ("stamp",),
    ),
    PersonRow: (("name",),),
    CylinderRow: (("system", "door"), ("system", "pinned_for")),
    LookupRow: (("folded",),),
}


def _type(hint: object) -> TypeEngine[Any]:
    if hint is bool:
        return Boolean()
    return Number if hint is int else Text()


def _table(row: type[Row]) -> Table:
    name = f"now_{row.__name__.removesuffix('Row').lower()}"
    hints = get_type_hints(row)
    columns = [
        Column(
            field.name,
            _type(hints[field.name]),
            primary_key=field.name in row.KEY,
            autoincrement=False,
            nullable=False,
        )
        for field in fields(row)
    ]
    indexes = [Index(f"{name}_{'_'.join(on)}", *on) for on in _INDEXES.get(row, ())]
    return Table(name, metadata, *columns, *indexes)


#: row class -> its table
STATE_TABLES: dict[type[Row], Table] = {row: _table(row) for row in ROWS}

#: what forbids changes to the chain, by dialect; made by the first migration
TRIGGERS = ("events_no_update", "events_no_delete", "sealed_no_update", "sealed_no_delete")
