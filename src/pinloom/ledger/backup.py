"""Backups, and back.

A backup is a ledger in one SQLite file, whatever database it came from, so it can be read with open
tools and opened as it is. It is written beside its final name, checked (SQLite's own integrity
check, the whole chain, the whole state, the same last event) and only then given that name.

A restore first checks the backup whole. Then, into SQLite, the file is copied by SQLite's online
copy, one transaction that other programs wait for and that a crash rolls back; into PostgreSQL all
tables are made and filled in one transaction. Either the old ledger or the new one is there.
"""

import os
import sqlite3
from collections.abc import Iterator
from contextlib import closing, contextmanager, suppress
from datetime import datetime
from pathlib import Path
from urllib.parse import quote

from sqlalchemy import Connection, Table, insert, select, text

from pinloom.core.findings import Finding, fault, has_fault
from pinloom.ledger import upgrade
from pinloom.ledger.database import Trouble, Where, connect, understood
from pinloom.ledger.details import Restored
from pinloom.ledger.events import EventKind
from pinloom.ledger.schema import KEEPER, STATE_TABLES, events, sealed
from pinloom.ledger.store import Clock, Ledger
from pinloom.ledger.verify import verify
from pinloom.ledger.view import Head, Writing

_TABLES: tuple[Table, ...] = (events, sealed, *KEEPER, *STATE_TABLES.values())
_BATCH = 2000
_TRIES = 300


def backup(ledger: Ledger, target: Path) -> Head | list[Finding]:
    """Write a checked backup; its last event, or what is wrong with the ledger itself.

    An existing target is replaced only by a sound one. Raises Trouble.
    """
    part = target.with_name(f"{target.name}.part")
    with _machine(Where(path=target)):
        part.unlink(missing_ok=True)
        os.close(os.open(part, os.O_CREAT | os.O_EXCL | os.O_WRONLY, 0o600))
    try:
        if ledger.place.path is not None:
            _copy_file(ledger.place.path, part)
        else:
            _copy_rows(ledger, part)
        with _machine(Where(path=target)):
            _settle(part)
        end, findings = _checked(part, ledger.clock)
        if has_fault(findings) or end is None:
            return findings
        with _machine(Where(path=target)):
            part.replace(target)
            _sync(target.parent)
        return end
    finally:
        for name in (part, *_sides(part)):
            name.unlink(missing_ok=True)


def restore(source: Path, place: Where, clock: Clock, who: str) -> list[Finding]:
    """Put a backup in the place of a ledger. With a fault found, the old ledger is untouched.

    The restored ledger records the restoration as its next event. Raises Trouble.
    """
    if not source.exists():
        return [fault("ledger-none-here", Where(path=source).place())]
    end, findings = _checked(source, clock)
    if has_fault(findings) or end is None:
        return findings
    if place.url is None:
        _into_file(source, place)
    else:
        _into_server(source, place)
    restored = Ledger.open(place, clock)
    try:
        restored.do(lambda tx: _note_restored(tx, end), who)
    finally:
        restored.close()
    return findings


def _note_restored(tx: Writing, end: Head) -> list[Finding]:
    tx.append(EventKind.RESTORED, Restored(seq=end.seq, hash=end.hash))
    return []


def _checked(path: Path, clock: Clock) -> tuple[Head | None, list[Finding]]:
    """The last event of a ledger in a file, and what is wrong with it."""
    copy = None
    try:
        copy = Ledger.open(Where(path=path, frozen=True), clock)
        checked = copy.ask(verify)
        return copy.ask(lambda view: view.head()), checked.findings
    except Trouble as trouble:
        return None, [trouble.finding]
    finally:
        if copy is not None:
            copy.close()


def _copy_file(source: Path, target: Path) -> None:
    """SQLite's online copy: a consistent view, also while others write."""
    place = Where(path=source)
    with _machine(place), closing(_link(source)) as old, closing(_link(target)) as new:
        old.backup(new)


def _copy_rows(ledger: Ledger, target: Path) -> None:
    copy = Ledger(connect(Where(path=target)), Where(path=target), ledger.clock)
    try:
        with ledger.transaction() as old, copy.transaction(writing=True) as new:
            upgrade.run(new)
            _rows(old, new)
    finally:
        copy.close()


def _rows(old: Connection, new: Connection) -> None:
    for table in _TABLES:
        result = old.execute(select(table), execution_options={"yield_per": _BATCH})
        for rows in result.partitions(_BATCH):
            new.execute(insert(table), [dict(row._mapping) for row in rows])


def _into_file(source: Path, place: Where) -> None:
    assert place.path is not None
    target = place.path
    with _machine(place):
        if not target.exists() or not _opens(target):
            _move_in(source, target)
            return
        with closing(_link(source, "ro")) as new, closing(_link(target)) as old:
            new.backup(old)


def _opens(path: Path) -> bool:
    """Whether SQLite takes the file for a database at all."""
    try:
        with closing(_link(path)) as link:
            link.execute("PRAGMA schema_version").fetchone()
            link.execute("SELECT count(*) FROM sqlite_master").fetchone()
    except sqlite3.DatabaseError as error:
        return getattr(error, "sqlite_errorname", "") not in ("SQLITE_NOTADB", "SQLITE_CORRUPT")
    return True


def _move_in(source: Path, target: Path) -> None:
    """There is nothing, or nothing readable: that is set aside, never thrown away."""
    part = target.with_name(f"{target.name}.part")
    part.unlink(missing_ok=True)
    os.close(os.open(part, os.O_CREAT | os.O_EXCL | os.O_WRONLY, 0o600))
    with closing(_link(source, "ro")) as old, closing(_link(part)) as new:
        old.backup(new)
    _settle(part)
    if target.exists():
        aside = next(
            name
            for name in (target.with_name(f"{target.name}.damaged-{n}") for n in range(1, _TRIES))
            if not name.exists()
        )
        target.rename(aside)
        for side in _sides(target):
            with suppress(FileNotFoundError):
                side.rename(aside.with_name(aside.name + side.name.removeprefix(target.name)))
    part.replace(target)
    _sync(target.parent)


def _into_server(source: Path, place: Where) -> None:
    engine = connect(place)
    ledger = Ledger(engine, place, _no_clock)
    frozen = Where(path=source, frozen=True)
    copy = Ledger(connect(frozen), frozen, _no_clock)
    try:
        with copy.transaction() as old, ledger.transaction(writing=True) as new:
            for name in [*(table.name for table in _TABLES), "alembic_version"]:
                new.execute(text(f"DROP TABLE IF EXISTS {name} CASCADE"))  # our own names
            new.execute(text("DROP FUNCTION IF EXISTS pinloom_never"))
            upgrade.run(new)
            _rows(old, new)
    finally:
        copy.close()
        ledger.close()


def _no_clock() -> datetime:
    raise AssertionError("nothing here is dated")


def _link(path: Path, mode: str = "rw") -> sqlite3.Connection:
    uri = f"file:{quote(str(path.absolute()))}?mode={mode}"
    return sqlite3.connect(uri, uri=True, timeout=10, isolation_level=None)


def _settle(path: Path) -> None:
    """One file, all on the disk: no log beside it."""
    with closing(_link(path)) as link:
        link.execute("PRAGMA journal_mode=DELETE")
    with path.open("rb") as file:
        os.fsync(file.fileno())


def _sides(path: Path) -> tuple[Path, ...]:
    return tuple(path.with_name(path.name + end) for end in ("-wal", "-shm", "-journal"))


def _sync(folder: Path) -> None:
    handle = os.open(folder, os.O_RDONLY | os.O_DIRECTORY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)


@contextmanager
def _machine(place: Where) -> Iterator[None]:
    """Errors of files and of SQLite itself, in words."""
    try:
        yield
    except OSError as error:
        reason = error.strerror or type(error).__name__
        raise Trouble(fault("ledger-file-error", place.place(), reason=reason)) from None
    except sqlite3.Error as error:
        trouble = understood(error, place)
        if trouble is None:
            raise
        raise trouble from None
