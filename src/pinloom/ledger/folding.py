"""What the rules of the fold stand on: a state to read and replace rows in."""

from typing import Protocol, TypeVar

from pinloom.ledger.events import Event
from pinloom.ledger.rows import LookupKind, LookupRow, Row

R = TypeVar("R", bound=Row)


class State(Protocol):
    """Rows by class and primary key."""

    def get(self, kind: type[R], *key: int | str) -> R | None:
        """The row, or None."""

    def put(self, row: Row) -> None:
        """Add the row or replace the one of the same key."""


class Incoherent(Exception):
    """An event that cannot follow from those before it."""


class Memory:
    """A state held in memory."""

    def __init__(self) -> None:
        self.rows: dict[type[Row], dict[tuple[int | str, ...], Row]] = {}

    def get(self, kind: type[R], *key: int | str) -> R | None:
        """The row, or None."""
        found = self.rows.get(kind, {}).get(key)
        return found if isinstance(found, kind) else None

    def put(self, row: Row) -> None:
        """Add the row or replace the one of the same key."""
        self.rows.setdefault(type(row), {})[row.key()] = row


def need(state: State, kind: type[R], *key: int | str | None) -> R:
    """The row; raises Incoherent when an event speaks of something that does not exist."""
    found = None if None in key else state.get(kind, *(part for part in key if part is not None))
    if found is None:
        raise Incoherent(f"no {kind.__name__} {key}")
    return found


def demand(holds: bool, what: str) -> None:
    """Raise Incoherent unless it holds."""
    if not holds:
        raise Incoherent(what)


def look(state: State, kind: LookupKind, system: int, ref: int | str, *label: str) -> None:
    """Make a thing findable by its name."""
    text = " ".join(part for part in label if part)
    state.put(
        LookupRow(kind=kind.value, system=system, ref=str(ref), label=text, folded=text.casefold())
    )


def created(event: Event) -> int:
    """The number of the thing an event brought in, which is the event's own."""
    demand(event.subject == event.seq, "a new thing has the number of its event")
    return event.seq
