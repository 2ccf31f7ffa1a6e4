"""Backups come back whole, across databases too, and a restore that fails changes nothing."""

import sqlite3
from pathlib import Path

import pytest

from pinloom.core.findings import Finding
from pinloom.ledger import counter, people
from pinloom.ledger.backup import backup, restore
from pinloom.ledger.database import Trouble, Where
from pinloom.ledger.store import Ledger
from pinloom.ledger.unlocking import unlock
from pinloom.ledger.verify import verify
from pinloom.ledger.view import Head
from pinloom.vault import DataKey
from tests.ledger import kit


def contents(ledger: Ledger) -> dict[str, list[tuple[object, ...]]]:
    """Every row of every table."""
    from sqlalchemy import select

    from pinloom.ledger.schema import KEEPER, STATE_TABLES, events, sealed

    tables = (events, sealed, *KEEPER, *STATE_TABLES.values())
    with ledger.transaction() as connection:
        return {t.name: sorted(tuple(row) for row in connection.execute(select(t))) for t in tables}


def saved(ledger: Ledger, path: Path) -> Head:
    """A backup that must succeed."""
    end = backup(ledger, path)
    assert isinstance(end, Head), end
    return end


def test_a_backup_is_the_whole_ledger(ledger: Ledger, tmp_path: Path, clock: kit.Clock) -> None:
    """Every row is in it; it opens as a ledger, verifies, and unlocks with the passphrase. SQLite's
    own integrity check finds it whole, and it is one file.
    """
    end = saved(ledger, tmp_path / "b.db")
    assert end == ledger.ask(lambda view: view.head())
    link = sqlite3.connect(tmp_path / "b.db")
    assert link.execute("PRAGMA integrity_check").fetchall() == [("ok",)]
    assert link.execute("PRAGMA journal_mode").fetchone() == ("delete",)
    link.close()
    copy = Ledger.open(Where(path=tmp_path / "b.db"), clock)
    assert contents(copy) == contents(ledger)
    assert copy.ask(verify).findings == []
    assert isinstance(unlock(copy, kit.PASSPHRASE), DataKey)
    copy.close()


def test_a_backup_is_read_without_a_trace(
    ledger: Ledger, place: Where, tmp_path: Path, clock: kit.Clock
) -> None:
    """A restore changes no byte of the backup and puts nothing beside it."""
    folder = tmp_path / "archive"
    folder.mkdir()
    saved(ledger, folder / "b.db")
    before = (folder / "b.db").read_bytes()
    assert restore(folder / "b.db", place, clock, kit.CLERK) == []
    assert (folder / "b.db").read_bytes() == before
    assert [path.name for path in folder.iterdir()] == ["b.db"]


def test_a_restore_brings_everything_back(ledger: Ledger, tmp_path: Path, clock: kit.Clock) -> None:
    """After more work, a restore gives the rows of the backup and one event that says so."""
    saved(ledger, tmp_path / "b.db")
    before = contents(ledger)
    kit.do(ledger, lambda tx: people.add_site(tx, "North basin"))
    kit.do(ledger, lambda tx: counter.lose(tx, "TOP-1", "gone"))
    assert restore(tmp_path / "b.db", ledger.place, clock, kit.CLERK) == []
    after = contents(ledger)
    event = after["events"].pop()
    assert event[2] == "restored"
    assert after["events"] == before["events"]
    for name in before.keys() - {"head", "events"}:
        assert after[name] == before[name], name
    assert ledger.ask(verify).findings == []
    kit.do(ledger, lambda tx: people.add_site(tx, "South basin"))


def test_a_restore_into_an_empty_place(
    ledger: Ledger, place: Where, tmp_path: Path, clock: kit.Clock
) -> None:
    """From either database into either: the rows are the same."""
    saved(ledger, tmp_path / "b.db")
    assert restore(tmp_path / "b.db", place, clock, kit.CLERK) == []
    there = Ledger.open(place, clock)
    assert contents(there)["events"][:-1] == contents(ledger)["events"]
    assert there.ask(verify).findings == []
    there.close()


@pytest.mark.parametrize("how", ["altered", "cut short", "no ledger", "missing", "garbage"])
def test_a_restore_that_fails_leaves_the_old_ledger(
    ledger: Ledger, tmp_path: Path, clock: kit.Clock, how: str
) -> None:
    """A backup that is not sound is refused whole, and every row of the old ledger stays."""
    path = tmp_path / "b.db"
    saved(ledger, path)
    if how == "altered":
        link = sqlite3.connect(path)
        link.execute("DROP TRIGGER events_no_update")
        link.execute("UPDATE events SET who = 'x' WHERE seq = 9")
        link.commit()
        link.close()
    elif how == "cut short":
        path.write_bytes(path.read_bytes()[:-20_000])
    elif how == "no ledger":
        path.unlink()
        link = sqlite3.connect(path)
        link.execute("CREATE TABLE other (x)")
        link.close()
    elif how == "garbage":
        path.write_bytes(b"not a database at all" * 500)
    else:
        path.unlink()
    before = contents(ledger)
    findings = restore(path, ledger.place, clock, kit.CLERK)
    assert any(one.severity.value == "fault" for one in findings)
    assert contents(ledger) == before
    assert ledger.ask(verify).findings == []


def test_a_restore_broken_off_leaves_the_old_ledger(
    ledger: Ledger, tmp_path: Path, clock: kit.Clock, monkeypatch: pytest.MonkeyPatch
) -> None:
    """An error in the middle of the copy itself leaves every old row."""
    from pinloom.ledger import backup as module

    saved(ledger, tmp_path / "b.db")
    kit.do(ledger, lambda tx: people.add_site(tx, "North basin"))
    before = contents(ledger)

    def broken(*_: object) -> None:
        raise OSError(5, "Input/output error")

    name = "_into_file" if ledger.place.url is None else "_rows"
    monkeypatch.setattr(module, name, broken)
    with pytest.raises((Trouble, OSError)):
        restore(tmp_path / "b.db", ledger.place, clock, kit.CLERK)
    assert contents(ledger) == before


def test_a_damaged_ledger_is_set_aside_by_a_restore(
    tmp_path: Path, clock: kit.Clock, model_file: bytes
) -> None:
    """Where the old file is no database any more, it is kept under another name."""
    (tmp_path / "b.db").write_bytes(model_file)
    (tmp_path / "a.db").write_bytes(b"scrambled" * 999)
    place = Where(path=tmp_path / "a.db")
    assert restore(tmp_path / "b.db", place, clock, kit.CLERK) == []
    assert (tmp_path / "a.db.damaged-1").read_bytes() == b"scrambled" * 999
    there = Ledger.open(place, clock)
    assert there.ask(verify).findings == []
    there.close()


def test_an_unsound_ledger_is_not_backed_up_over_a_sound_backup(
    ledger: Ledger, tmp_path: Path
) -> None:
    """A backup of a tampered ledger is refused, and the older backup stays."""
    from tests.ledger.test_chain import tamper

    path = tmp_path / "b.db"
    saved(ledger, path)
    before = path.read_bytes()
    tamper(ledger, "UPDATE events SET who = 'x' WHERE seq = 9")
    found = backup(ledger, path)
    assert isinstance(found, list)
    assert all(isinstance(one, Finding) for one in found)
    assert "ledger-altered" in [one.code for one in found]
    assert path.read_bytes() == before
    assert not path.with_name("b.db.part").exists()


def test_a_backup_that_cannot_be_written_says_so(ledger: Ledger, tmp_path: Path) -> None:
    """A missing folder is told on in words."""
    with pytest.raises(Trouble) as trouble:
        backup(ledger, tmp_path / "no such folder" / "b.db")
    assert trouble.value.finding.code == "ledger-file-error"
