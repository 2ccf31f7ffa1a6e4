"""Every test that takes ``place`` or ``ledger`` runs on SQLite and on a real PostgreSQL."""

from collections.abc import Iterator
from pathlib import Path

import pytest

from pinloom.ledger.database import Where, where
from pinloom.ledger.store import Ledger
from tests.ledger import kit


@pytest.fixture
def clock() -> kit.Clock:
    """A clock that stands still."""
    return kit.Clock()


@pytest.fixture(params=["sqlite", pytest.param("postgres", marks=pytest.mark.postgres)])
def place(request: pytest.FixtureRequest, tmp_path: Path) -> Where:
    """Where a new ledger may be made, on each database."""
    if request.param == "sqlite":
        return where(str(tmp_path / "the ledger.db"))
    return where(request.getfixturevalue("postgres_url"))


@pytest.fixture
def ledger(place: Where, clock: kit.Clock) -> Iterator[Ledger]:
    """The boatyard's ledger with some life in it."""
    made = kit.new_ledger(place, clock)
    kit.populate(made)
    yield made
    made.close()


@pytest.fixture
def empty(place: Where, clock: kit.Clock) -> Iterator[Ledger]:
    """A new ledger."""
    made = kit.new_ledger(place, clock)
    yield made
    made.close()
