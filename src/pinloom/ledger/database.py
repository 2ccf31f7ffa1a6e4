"""The two databases and their manners: how a connection is made, and what an error of it means.

SQLite: one file, mode 0600, write-ahead log with ``synchronous=FULL`` (an acknowledged commit
survives a crash of program or machine), writers begin with the write lock and wait for it at most
``WAIT_SECONDS``. PostgreSQL: ordinary transactions; every writer first locks the one row of
``head``, which puts all writers in a line, and ``synchronous_commit`` is on.

Errors of a database are turned into findings here and nowhere else. Parameters never get into an
error's text (``hide_parameters``), nor does the password of a URL.
"""

import os
import sqlite3
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path
from urllib.parse import quote

from sqlalchemy import URL, Engine, create_engine, event
from sqlalchemy.engine import Connection, make_url
from sqlalchemy.exc import ArgumentError, DBAPIError, SQLAlchemyError
from sqlalchemy.pool import QueuePool

from pinloom.core.findings import Finding, Place, fault

WAIT_SECONDS = 10
WRITING = "pinloom_writing"  # execution option of a connection that will write

_DURABLE = (
    "PRAGMA journal_mode=WAL",
    "PRAGMA synchronous=FULL",
    "PRAGMA fullfsync=ON",
)
_CAREFUL = (
    "PRAGMA temp_store=MEMORY",  # nothing of the ledger in temporary files
    "PRAGMA trusted_schema=OFF",
    "PRAGMA cell_size_check=ON",
)
_SETTINGS = (
    "SET synchronous_commit = on",
    f"SET lock_timeout = '{WAIT_SECONDS}s'",
    "SET TIME ZONE 'UTC'",
    "SET client_min_messages = warning",
)


class Trouble(Exception):
    """The database cannot do its work; ``finding`` says so in terms a person can act on."""

    def __init__(self, finding: Finding) -> None:
        super().__init__(finding.code)
        self.finding = finding


@dataclass(frozen=True, slots=True, kw_only=True)
class Where:
    """Where a ledger is: a file, or the URL of a PostgreSQL database.

    A ``frozen`` file is only read, and nothing is put beside it.
    """

    path: Path | None = None
    url: URL | None = None
    frozen: bool = False

    def __str__(self) -> str:
        return str(self.path) if self.url is None else self.url.render_as_string(hide_password=True)

    def place(self) -> Place:
        """The place for findings; a password is not shown."""
        return Place(file=str(self))


def where(text: str) -> Where:
    """The place a text names: a path, ``sqlite:///PATH`` or ``postgresql://...``.

    Raises Trouble when it is a URL of something else or PostgreSQL's driver is not installed.
    """
    if "://" not in text:
        return Where(path=Path(text))
    try:
        url = make_url(text)
    except ArgumentError:
        raise Trouble(fault("ledger-no-such-place", scheme=text.split("://")[0])) from None
    kind = url.get_backend_name()
    if kind == "sqlite" and url.database:
        return Where(path=Path(url.database))
    if kind not in ("postgresql", "postgres"):
        raise Trouble(fault("ledger-no-such-place", scheme=kind))
    try:
        import psycopg  # noqa: F401
    except ImportError:
        raise Trouble(fault("ledger-no-driver")) from None
    return Where(url=url.set(drivername="postgresql+psycopg"))


def connect(place: Where, *, make: bool = False) -> Engine:
    """An engine for the place. A missing SQLite file is made only when asked for."""
    return _postgres(place) if place.url is not None else _sqlite(place, make)


def _postgres(place: Where) -> Engine:
    assert place.url is not None
    engine = create_engine(
        place.url, hide_parameters=True, connect_args={"connect_timeout": WAIT_SECONDS}
    )

    @event.listens_for(engine, "connect")
    def _settle(connection: object, _record: object) -> None:
        cursor = connection.cursor()  # type: ignore[attr-defined]
        for setting in _SETTINGS:
            cursor.execute(setting)
        cursor.close()
        connection.commit()  # type: ignore[attr-defined]

    return engine


def _sqlite(place: Where, make: bool) -> Engine:
    assert place.path is not None
    path, mode = place.path, "ro" if place.frozen else "rw"

    def link() -> sqlite3.Connection:
        if make and not path.exists():
            with suppress(FileExistsError):
                os.close(os.open(path, os.O_CREAT | os.O_EXCL | os.O_WRONLY, 0o600))
        connection = sqlite3.connect(
            f"file:{quote(str(path.absolute()))}?mode={mode}",
            uri=True,
            timeout=WAIT_SECONDS,
            isolation_level=None,
            check_same_thread=False,
        )
        try:
            for pragma in (*(() if place.frozen else _DURABLE), *_CAREFUL):
                connection.execute(pragma)
        except BaseException:
            connection.close()
            raise
        return connection

    engine = create_engine("sqlite://", creator=link, hide_parameters=True, poolclass=QueuePool)

    @event.listens_for(engine, "begin")
    def _begin(connection: Connection) -> None:
        writing = connection.get_execution_options().get(WRITING)
        connection.exec_driver_sql("BEGIN IMMEDIATE" if writing else "BEGIN")

    return engine


def understood(error: Exception, place: Where) -> Trouble | None:
    """What an error of the database means; None for one that is a bug of ours."""
    if isinstance(error, Trouble):
        return error
    cause: BaseException | None = error
    if isinstance(error, DBAPIError):
        cause = error.orig
    elif isinstance(error, SQLAlchemyError):
        return None
    code = _sqlite_code(cause) if isinstance(cause, sqlite3.Error) else _postgres_code(cause)
    return Trouble(fault(code, place.place())) if code else None


_SQLITE_CODES = (
    ("SQLITE_BUSY", "ledger-busy"),
    ("SQLITE_LOCKED", "ledger-busy"),
    ("SQLITE_READONLY", "ledger-read-only"),
    ("SQLITE_FULL", "ledger-disk-full"),
    ("SQLITE_CORRUPT", "ledger-damaged"),
    ("SQLITE_NOTADB", "ledger-damaged"),
    ("SQLITE_CANTOPEN", "ledger-unreachable"),
    ("SQLITE_PERM", "ledger-unreachable"),
    ("SQLITE_AUTH", "ledger-unreachable"),
    ("SQLITE_IOERR", "ledger-io-error"),
)

#: SQLSTATE or its class (PostgreSQL documentation, appendix A, "Error Codes")
_POSTGRES_CODES = (
    ("55P03", "ledger-busy"),  # lock_not_available
    ("40001", "ledger-busy"),  # serialization_failure
    ("40P01", "ledger-busy"),  # deadlock_detected
    ("25006", "ledger-read-only"),  # read_only_sql_transaction
    ("42501", "ledger-read-only"),  # insufficient_privilege
    ("53100", "ledger-disk-full"),
    ("53", "ledger-unreachable"),  # insufficient resources
    ("XX001", "ledger-damaged"),  # data_corrupted
    ("XX002", "ledger-damaged"),  # index_corrupted
    ("58", "ledger-io-error"),  # system error
    ("57P", "ledger-unreachable"),  # shut down
    ("08", "ledger-unreachable"),  # connection exception
    ("28", "ledger-unreachable"),  # invalid authorization
    ("3D000", "ledger-unreachable"),  # no such database
)


def _sqlite_code(error: sqlite3.Error) -> str:
    name = getattr(error, "sqlite_errorname", "") or ""
    return next((code for head, code in _SQLITE_CODES if name.startswith(head)), "")


def _postgres_code(error: BaseException | None) -> str:
    state = getattr(error, "sqlstate", None)
    if state is None:  # no answer at all
        gone = type(error).__name__ in ("OperationalError", "ConnectionTimeout")
        return "ledger-unreachable" if gone else ""
    return next((code for head, code in _POSTGRES_CODES if state.startswith(head)), "")
