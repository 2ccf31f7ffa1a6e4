"""No cut leaks: not from the file, its log, a backup, an export, a log line or an error's text."""

import logging
import re
import traceback
from collections.abc import Iterator
from pathlib import Path

import pytest
from sqlalchemy import text

from pinloom import messages
from pinloom.core.findings import Finding
from pinloom.ledger import enter, lists_out, secrets, verify, workshop
from pinloom.ledger.backup import backup
from pinloom.ledger.rows import RevisionRow
from pinloom.ledger.secrets import Secrets, SecretStack
from pinloom.ledger.store import Ledger
from pinloom.vault import DataKey
from tests.ledger import kit
from tests.ledger.test_counter import system

SEPARATORS = ("", " ", ",", ", ", "-", "/", ";", "\t", "\n")


def needles() -> Iterator[tuple[str, bytes, re.Pattern[bytes]]]:
    """Every way in which the cuts of a key or of the control key might be written down: as depth
    numbers or as levels, forwards or backwards, with any usual sign between, or as plain bytes.

    Standing alone only: six digits in the middle of a hexadecimal hash are chance.
    """
    made = kit.sixes()
    job = kit.job()
    every = dict(kit.CUTS) | {"control": job.controls[0].levels}
    for name, levels in every.items():
        numbers = [made.number_of(level) for level in levels]
        for cuts in (numbers, list(levels), numbers[::-1], list(levels)[::-1]):
            for sign in SEPARATORS:
                whole = sign.join(str(cut) for cut in cuts).encode()
                alone = rb"(?<![0-9a-f.:])" + re.escape(whole) + rb"(?![0-9a-f.:])"
                yield name, whole, re.compile(alone)
            yield name, bytes(cuts), re.compile(re.escape(bytes(cuts)))


NEEDLES = list(needles())


def leaks(data: bytes) -> list[str]:
    """Names of the keys whose cuts stand in some bytes."""
    return sorted({name for name, raw, needle in NEEDLES if raw in data and needle.search(data)})


def test_the_search_would_find_a_leak() -> None:
    """The search finds each key's cuts in the tables of a job folder, and in an unsealed body."""
    stamped = {name: kit.sixes().stamp(levels) for name, levels in kit.CUTS.items()}
    rows = "\n".join(f"{name},{','.join(text)},{text}" for name, text in stamped.items())
    assert leaks(rows.encode()) == sorted(kit.CUTS)
    plain = secrets.pack(secrets.of_job(kit.job(), None))
    assert leaks(plain) == sorted([*kit.CUTS, "control"])


def test_no_cut_in_file_log_backup_or_export(
    ledger: Ledger, tmp_path: Path, caplog: pytest.LogCaptureFixture
) -> None:
    """After a busy life, with every logger at its loudest, no file holds a cut of any key."""
    caplog.set_level(logging.DEBUG)
    for name in ("sqlalchemy", "sqlalchemy.engine", "sqlalchemy.pool", "alembic", "psycopg"):
        caplog.set_level(logging.DEBUG, logger=name)
    key = kit.key_of(ledger)
    recut = kit.CUTS | {"AA1": (4, 2, 8, 8, 7, 5)}
    kit.do(ledger, lambda tx: enter.enter(tx, key, kit.job(2, recut), kit.SITE, kit.SYSTEM))
    kit.do(ledger, lambda tx: enter.approve(tx, kit.SYSTEM, 2, "Harbour office", "order 9"))
    kit.do(ledger, lambda tx: workshop.cut(tx, kit.SYSTEM, "AA1"))
    backup(ledger, tmp_path / "backup.db")
    files = {path.name: path.read_bytes() for path in tmp_path.iterdir() if path.is_file()}
    assert {"backup.db"} < files.keys() or ledger.place.url is not None
    files |= ledger.ask(lambda view: dict(lists_out.written(view)))
    files["events"] = repr(ledger.ask(lambda view: view.events())).encode()
    files["log"] = caplog.text.encode()
    assert len(files["log"]) > 1000
    assert {name: found for name, data in files.items() if (found := leaks(data))} == {}


@pytest.mark.postgres
def test_no_cut_in_the_dump_of_the_server(filled_url: str) -> None:
    """What PostgreSQL itself would put into a dump holds no cut."""
    import psycopg

    with psycopg.connect(filled_url.replace("+psycopg", "", 1)) as connection:
        tables = connection.execute(
            "SELECT table_name FROM information_schema.tables WHERE table_schema = 'public'"
        ).fetchall()
        found = b""
        for (table,) in tables:
            with connection.cursor().copy(f'COPY "{table}" TO STDOUT') as copy:
                found += b"".join(bytes(part) for part in copy)
    assert len(found) > 10_000
    assert leaks(found) == []


@pytest.mark.parametrize("table", ["sealed", "events", "now_revision", "now_opens"])
def test_no_cut_in_errors_of_the_database(ledger: Ledger, table: str) -> None:
    """When the database fails in the middle of bringing cuts in, neither error nor traceback, with
    everything the error chains to, shows one.
    """
    key = kit.key_of(ledger)
    recut = kit.CUTS | {"AA1": (4, 2, 8, 8, 7, 5)}
    with ledger.transaction(writing=True) as connection:
        connection.execute(text(f"DROP TABLE {table}"))
    with pytest.raises(Exception, match=table) as caught:
        ledger.do(
            lambda tx: enter.enter(tx, key, kit.job(2, recut), kit.SITE, kit.SYSTEM), kit.CLERK
        )
    shown = "".join(traceback.format_exception(caught.value)) + repr(caught.value)
    assert len(shown) > 100
    assert leaks(shown.encode()) == []


def test_no_cut_in_findings_of_damaged_seals(ledger: Ledger) -> None:
    """Sealed bytes that do not open, or open to something unreadable, are told on without them."""
    key = kit.key_of(ledger)
    row = ledger.ask(lambda view: view.get(RevisionRow, system(view).id, 1))
    assert row is not None
    good = ledger.ask(lambda view: secrets.reveal(view, key, row))
    assert isinstance(good, Secrets)
    context = f"revision {row.system} {row.number}"
    for body in (
        key.seal(secrets.pack(good)[:-2], context),  # not whole
        key.seal(secrets.pack(good), "revision 999 1"),  # of another place
        DataKey(raw=bytes(32)).seal(secrets.pack(good), context),  # under another key
        b"short",
    ):
        with ledger.transaction(writing=True) as connection:
            table = "sealed"
            if connection.dialect.name == "sqlite":
                connection.execute(text("DROP TRIGGER IF EXISTS sealed_no_update"))
            else:
                connection.execute(text("ALTER TABLE sealed DISABLE TRIGGER USER"))
            connection.execute(text(f"UPDATE {table} SET body = :body"), {"body": body})
        found = ledger.ask(lambda view: secrets.reveal(view, key, row))
        assert isinstance(found, Finding)
        assert found.code == "ledger-seal-damaged"
        assert leaks(messages.line(found).encode()) == []
        codes = [one.code for one in ledger.ask(verify.verify).findings]
        assert "ledger-seal-altered" in codes


def test_records_of_secrets_show_nothing() -> None:
    """Printing the secret half of a revision, by accident or in a traceback, prints no cut."""
    hidden = secrets.of_job(kit.job(), None)
    assert leaks(repr(hidden).encode() + str(hidden).encode()) == []


def test_secrets_come_back_whole(ledger: Ledger) -> None:
    """With the passphrase, cuts, control keys and pins are what the job said, as depth numbers."""
    key = kit.key_of(ledger)
    row = ledger.ask(lambda view: view.get(RevisionRow, system(view).id, 1))
    assert row is not None
    found = ledger.ask(lambda view: secrets.reveal(view, key, row))
    assert isinstance(found, Secrets)
    made, job = kit.sixes(), kit.job()
    assert found.stamped["AA1"] == made.stamp(kit.CUTS["AA1"])
    assert found.cuts["AA1"] == tuple(made.number_of(level) for level in kit.CUTS["AA1"])
    assert found.controls == {"": tuple(made.number_of(x) for x in job.controls[0].levels)}
    door = job.chart.door_index()["Slipway"]
    stacks = job.pinning[door].chambers
    assert found.pins["Slipway"] == tuple(
        SecretStack(bottom=made.number_of(s.bottom), masters=s.masters, driver=s.driver)
        for s in stacks
        if s is not None
    )


def test_equal_revisions_have_equal_marks_only_under_one_key(ledger: Ledger) -> None:
    """The mark tells the ledger that two revisions are the same; outside it tells nothing, because
    it is keyed: a plain hash of one key's cuts could be undone by trying them all.
    """
    row = ledger.ask(lambda view: view.get(RevisionRow, system(view).id, 1))
    assert row is not None
    key = kit.key_of(ledger)
    identity = enter._identity(kit.blanked_job(), secrets.of_job(kit.blanked_job(), None))
    assert row.mark == key.mark(identity, "revision")
    assert row.mark != DataKey(raw=bytes(32)).mark(identity, "revision")


def test_files_are_closed_to_others(tmp_path: Path) -> None:
    """The file and its companions have mode 0600."""
    from pinloom.ledger.database import where

    made = kit.new_ledger(where(str(tmp_path / "a.db")), kit.Clock())
    kit.populate(made)
    modes = {path.name: path.stat().st_mode & 0o777 for path in tmp_path.iterdir()}
    assert modes == {"a.db": 0o600, "a.db-shm": 0o600, "a.db-wal": 0o600}
    backup(made, tmp_path / "b.db")
    made.close()
    assert (tmp_path / "b.db").stat().st_mode & 0o777 == 0o600
    assert sorted(path.name for path in tmp_path.iterdir()) == ["a.db", "b.db"]
