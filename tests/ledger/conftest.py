"""Every test that takes ``place``, ``empty`` or ``ledger`` runs on SQLite and on a real PostgreSQL.

The boatyard's ledger is made once a database; each test begins with it as it was.
"""

import os
from collections.abc import Iterator
from pathlib import Path

import pytest

from pinloom.ledger.backup import backup
from pinloom.ledger.database import Where, where
from pinloom.ledger.schema import metadata
from pinloom.ledger.store import Ledger
from tests import machine
from tests.ledger import kit

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
def shared(postgres: machine.PostgresServer) -> Iterator["Shared"]:
    """The boatyard's ledger in PostgreSQL, brought back to its beginning for each test."""
    made = Shared(postgres)
    yield made
    made.drop()


@pytest.fixture
def filled_url(shared: "Shared") -> str:
    """The URL of the boatyard's ledger in PostgreSQL, as it was filled."""
    shared.bring_back()
    return shared.url


class Shared:
    """One database for many tests, because making one takes longer than most of them.

    The rows are kept a second time in the schema ``model``. Before each test they are put back;
    when a test changed the tables themselves, or their triggers, the database is made anew.
    """

    def __init__(self, server: machine.PostgresServer) -> None:
        self._server = server
        self._model = f"pinloom_model_{os.getpid()}"
        self._name = f"pinloom_shared_{os.getpid()}"
        self.url = server.url(self._name)
        _tell(server, "postgres", f'CREATE DATABASE "{self._model}"')
        made = kit.new_ledger(where(server.url(self._model)), kit.Clock())
        kit.populate(made)
        self._tables = [*metadata.tables, "alembic_version"]
        made.close()
        copies = [f"CREATE TABLE model.{t} AS TABLE public.{t}" for t in self._tables]
        _tell(server, self._model, "CREATE SCHEMA model", *copies)
        self._form = self._new()

    def _new(self) -> str:
        _tell(self._server, "postgres", f'CREATE DATABASE "{self._name}" TEMPLATE "{self._model}"')
        return self._structure()

    def _structure(self) -> str:
        """Every column and every trigger, with whether it is on."""
        columns = (
            "SELECT string_agg(concat(table_name, column_name, data_type), ',' ORDER BY 1) "
            "FROM information_schema.columns WHERE table_schema = 'public'"
        )
        triggers = (
            "SELECT string_agg(concat(tgrelid::regclass, tgname, tgenabled), ',' ORDER BY 1) "
            "FROM pg_trigger WHERE NOT tgisinternal"
        )
        return str(
            _tell(self._server, self._name, columns) + _tell(self._server, self._name, triggers)
        )

    def bring_back(self) -> None:
        """Make it as it was filled."""
        if self._structure() != self._form:
            _tell(self._server, "postgres", f'DROP DATABASE "{self._name}" WITH (FORCE)')
            self._new()
            return
        chain = ("events", "sealed")
        _tell(
            self._server,
            self._name,
            "BEGIN",
            *(f"ALTER TABLE {t} DISABLE TRIGGER USER" for t in chain),
            f"TRUNCATE {', '.join(self._tables)}",
            *(f"INSERT INTO public.{t} SELECT * FROM model.{t}" for t in self._tables),
            *(f"ALTER TABLE {t} ENABLE TRIGGER USER" for t in chain),
            "COMMIT",
        )

    def drop(self) -> None:
        """Leave nothing behind."""
        for name in (self._name, self._model):
            _tell(self._server, "postgres", f'DROP DATABASE IF EXISTS "{name}" WITH (FORCE)')


def _tell(server: machine.PostgresServer, database: str, *statements: str) -> list[object]:
    """Say something to a database; the rows of the last answer, if it had any."""
    import psycopg

    admin = server.url(database).replace("+psycopg", "", 1)
    with psycopg.connect(admin, autocommit=True) as connection:
        for statement in statements:
            last = connection.execute(statement)
        return list(last.fetchall()) if last.description else []
