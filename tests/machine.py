"""What this machine offers to the tests: a browser, a PostgreSQL server.

A server for the tests is made from scratch in a temporary folder, reached by a socket in that
folder alone and removed at the end, so no running server is touched and none has to be set up.
`PINLOOM_POSTGRES` (a SQLAlchemy URL of an empty database whose owner may create databases) names
another server to use instead.
"""

import os
import shutil
import signal
import subprocess
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

BROWSER = "browser"
POSTGRES = "postgres"

#: what a test may need -> how to get it, in the words shown at the end of a run
REMEDIES = {
    BROWSER: "no browser: apt-get install chromium (or set PINLOOM_CHROMIUM to its path)",
    POSTGRES: "no PostgreSQL: apt-get install postgresql (or set PINLOOM_POSTGRES to a URL)",
}

CHROMIUM_FLAGS = (
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
)

_SERVER_ACCOUNTS = ("postgres", "nobody")
_START_TRIES = 300
_INITDB_FLAGS = ("-E", "UTF8", "--locale=C", "--no-sync")
_SERVER_FLAGS = ("-c", "listen_addresses=", "-c", "fsync=off") + (
    *("-c", "full_page_writes=off"),
    *("-c", "synchronous_commit=off"),
)


def chromium() -> str | None:
    """The path of a Chromium, or None."""
    named = os.environ.get("PINLOOM_CHROMIUM")
    if named:
        return named if Path(named).exists() else None
    return shutil.which("chromium") or shutil.which("chromium-browser")


def postgres_programs() -> Path | None:
    """The folder of `initdb` and `postgres`, newest version first, or None."""
    found = sorted(
        Path("/usr/lib/postgresql").glob("*/bin/initdb"),
        key=lambda path: int(path.parts[-3]) if path.parts[-3].isdigit() else 0,
    )
    if found:
        return found[-1].parent
    on_path = shutil.which("initdb")
    return Path(on_path).resolve().parent if on_path else None


def missing(need: str) -> bool:
    """Whether the machine lacks one of the things named in REMEDIES."""
    if need == BROWSER:
        return chromium() is None
    return "PINLOOM_POSTGRES" not in os.environ and postgres_programs() is None


def required() -> frozenset[str]:
    """The needs whose absence is a failure, from PINLOOM_REQUIRE (separated by commas)."""
    names = {name.strip() for name in os.environ.get("PINLOOM_REQUIRE", "").split(",")} - {""}
    unknown = names - REMEDIES.keys()
    if unknown:
        raise ValueError(f"PINLOOM_REQUIRE names {sorted(unknown)}; known: {sorted(REMEDIES)}")
    return frozenset(names)


@dataclass(frozen=True, slots=True, kw_only=True)
class PostgresServer:
    """A server that answers. ``base`` is a SQLAlchemy URL with ``{}`` for the database's name."""

    base: str

    def url(self, database: str) -> str:
        """The SQLAlchemy URL of one database."""
        return self.base.format(database)


@contextmanager
def postgres_server() -> Iterator[PostgresServer]:
    """A throw-away server, started now and gone afterwards."""
    programs = postgres_programs()
    if programs is None:
        raise RuntimeError(REMEDIES[POSTGRES])
    account = _server_account()
    folder = Path(tempfile.mkdtemp(prefix="pinloom-pg-"))
    try:
        if account:
            shutil.chown(folder, user=account)
        data = folder / "data"
        subprocess.run(
            [programs / "initdb", "-D", data, "-U", "pinloom", "-A", "trust", *_INITDB_FLAGS],
            check=True,
            capture_output=True,
            user=account,
            cwd=folder,
        )
        server = subprocess.Popen(
            [programs / "postgres", "-D", data, "-k", folder, *_SERVER_FLAGS],
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
            user=account,
            cwd=folder,
        )
        try:
            _wait_until_it_answers(programs, folder, server)
            yield PostgresServer(base=f"postgresql+psycopg://pinloom@/{{}}?host={folder}")
        finally:
            server.send_signal(signal.SIGINT)
            server.wait(timeout=30)
    finally:
        shutil.rmtree(folder, ignore_errors=True)


def _server_account() -> str | None:
    """The server refuses to run as root; then an unprivileged account that exists runs it."""
    if os.geteuid() != 0:
        return None
    known = {line.split(":")[0] for line in Path("/etc/passwd").read_text().splitlines()}
    return next(name for name in _SERVER_ACCOUNTS if name in known)


def _wait_until_it_answers(programs: Path, folder: Path, server: subprocess.Popen[bytes]) -> None:
    for _ in range(_START_TRIES):
        if server.poll() is not None:
            raise RuntimeError(f"PostgreSQL ended at once with code {server.returncode}")
        ready = subprocess.run(
            [programs / "pg_isready", "-q", "-h", folder, "-U", "pinloom", "-d", "postgres"],
            check=False,
        )
        if ready.returncode == 0:
            return
        time.sleep(0.1)
    raise RuntimeError("PostgreSQL did not answer in time")
