"""Bringing tables to the form this program writes.

Chain tables are only ever added to. State tables are worked out from the events, so a step may drop
and make them as it likes: after the steps they are emptied and filled afresh.
"""

from collections.abc import Generator, Iterable, Iterator
from contextlib import closing
from dataclasses import fields
from pathlib import Path

from sqlalchemy import Connection, delete, insert, inspect, select, text, update

from pinloom.core.findings import Finding, fault
from pinloom.ledger import fold
from pinloom.ledger.database import Trouble, Where
from pinloom.ledger.events import Event, Stored, read
from pinloom.ledger.folding import Incoherent, Memory
from pinloom.ledger.rows import Row
from pinloom.ledger.schema import STATE_TABLES, events, head

NEWEST = "0002"
_STEPS = Path(__file__).parent / "migrations"
_BATCH = 2000


def run(connection: Connection, to: str = "head") -> None:
    """Run the steps that are still to run, inside the connection's transaction."""
    from alembic import command
    from alembic.config import Config

    config = Config()
    config.set_main_option("script_location", str(_STEPS).replace("%", "%%"))
    config.attributes["connection"] = connection
    command.upgrade(config, to)


def form(connection: Connection) -> str:
    """The newest step that was run; empty where there are no tables of ours."""
    if not inspect(connection).has_table("alembic_version"):
        return ""
    return connection.execute(text("SELECT version_num FROM alembic_version")).scalar() or ""


def judge(connection: Connection, place: Where) -> Finding | None:
    """Why these tables cannot be used as they are, if so."""
    found = form(connection)
    if not found:
        return fault("ledger-none-here", place.place())
    if found > NEWEST:
        return fault("ledger-newer", place.place(), found=found, known=NEWEST)
    state = connection.execute(select(head.c.state)).scalar()
    if found < NEWEST or state != fold.STATE:
        return fault("ledger-older", place.place(), found=found, known=NEWEST)
    return None


def afresh(connection: Connection) -> None:
    """Work out every state table from the events. Raises Trouble when they make no sense."""
    state = Memory()
    with closing(_events(connection)) as happened:
        for event in happened:
            try:
                fold.apply(state, event)
            except Incoherent:
                raise Trouble(fault("ledger-incoherent", seq=event.seq)) from None
    fill(connection, state)


def fill(connection: Connection, state: Memory) -> None:
    """Replace every state row."""
    for kind, table in STATE_TABLES.items():
        connection.execute(delete(table))
        names = [field.name for field in fields(kind)]
        rows = ({name: getattr(row, name) for name in names} for row in _of(state, kind))
        for some in _batches(rows):
            connection.execute(insert(table), some)
    connection.execute(update(head).values(state=fold.STATE))


def _of(state: Memory, kind: type[Row]) -> Iterable[Row]:
    return state.rows.get(kind, {}).values()


def _batches(rows: Iterable[dict[str, object]]) -> Iterator[list[dict[str, object]]]:
    some: list[dict[str, object]] = []
    for row in rows:
        some.append(row)
        if len(some) == _BATCH:
            yield some
            some = []
    if some:
        yield some


def _events(connection: Connection) -> Generator[Event, None, None]:
    query = select(events).order_by(events.c.seq)
    with connection.execute(query, execution_options={"yield_per": _BATCH}) as rows:
        for row in rows:
            stored: Stored = tuple(row)
            event = read(stored)
            if event is None:
                raise Trouble(fault("ledger-unreadable", seq=stored[0]))
            yield event
