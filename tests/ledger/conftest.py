"""Every test that takes ``place``, ``empty`` or ``ledger`` runs on SQLite and on a real PostgreSQL.

The boatyard's ledger is made once a database and copied for each test.
"""

import os
from collections.abc import Iterator
from itertools import count
from pathlib import Path

import pytest

from pinloom.ledger.backup import backup
from pinloom.ledger.database import Where, where
from pinloom.ledger.store import Ledger
from tests import machine
from tests.ledger import kit

_numbers = count(1)
BOTH = ["sqlite", pytest.param("postgres", marks=pytest.mark.postgres)]


@pytest.fixture
def clock() -> kit.Clock:
    """A clock that stands still."""
    return kit.Clock()


@pytest.fixture(params=BOTH)
def place(request: pytest.FixtureRequest, tmp_path: Path) -> Where:
    """Where a new ledger may be made, on each database."""
    if request.param == "sqlite":
        return where(str(tmp_path / "the ledger.db"))
    return where(request.getfixturevalue("postgres_url"))


@pytest.fixture
def empty(place: Where, clock: kit.Clock) -> Iterator[Ledger]:
    """A new ledger."""
    made = kit.new_ledger(place, clock)
    yield made
    made.close()


@pytest.fixture(params=BOTH)
def ledger(request: pytest.FixtureRequest, tmp_path: Path, clock: kit.Clock) -> Iterator[Ledger]:
    """The boatyard's ledger with some life in it."""
    if request.param == "sqlite":
        target = tmp_path / "boatyard.db"
        target.write_bytes(request.getfixturevalue("model_file"))
        made = Ledger.open(Where(path=target), clock)
    else:
        made = Ledger.open(where(request.getfixturevalue("filled_url")), clock)
    yield made
    made.close()


@pytest.fixture(scope="session")
def model_file(tmp_path_factory: pytest.TempPathFactory) -> bytes:
    """The bytes of the boatyard's ledger in SQLite."""
    folder = tmp_path_factory.mktemp("model")
    made = kit.new_ledger(where(str(folder / "model.db")), kit.Clock())
    kit.populate(made)
    backup(made, folder / "copy.db")
    made.close()
    return (folder / "copy.db").read_bytes()


@pytest.fixture(scope="session")
def model_database(postgres: machine.PostgresServer) -> Iterator[str]:
    """The name of the database that holds the boatyard's ledger in PostgreSQL."""
    name = f"pinloom_model_{os.getpid()}"
    _tell(postgres, f'CREATE DATABASE "{name}"')
    made = kit.new_ledger(where(postgres.url(name)), kit.Clock())
    kit.populate(made)
    made.close()
    yield name
    _tell(postgres, f'DROP DATABASE "{name}" WITH (FORCE)')


@pytest.fixture
def filled_url(postgres: machine.PostgresServer, model_database: str) -> Iterator[str]:
    """The URL of a copy of the boatyard's ledger in PostgreSQL."""
    name = f"pinloom_filled_{os.getpid()}_{next(_numbers)}"
    _tell(postgres, f'CREATE DATABASE "{name}" TEMPLATE "{model_database}"')
    yield postgres.url(name)
    _tell(postgres, f'DROP DATABASE "{name}" WITH (FORCE)')


def _tell(server: machine.PostgresServer, statement: str) -> None:
    import psycopg

    admin = server.url("postgres").replace("+psycopg", "", 1)
    with psycopg.connect(admin, autocommit=True) as connection:
        connection.execute(statement)
