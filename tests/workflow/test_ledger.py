"""The desk of the ledger: troubles come back as findings, and files are closed to others."""

from functools import partial
from pathlib import Path

import pytest

from pinloom.workflow import ledger as work
from pinloom.workflow import ledgeracts as acts
from tests.ledger import kit
from tests.workflow.kit import pinned


@pytest.fixture
def place(tmp_path: Path) -> str:
    """A ledger with the published chart's job in it."""
    from pinloom.ledger.database import where

    kit.new_ledger(where(str(tmp_path / "l.db")), kit.Clock()).close()
    pinned(tmp_path)
    return str(tmp_path / "l.db")


def desk_of(place: str) -> work.Desk:
    """Its desk."""
    found = work.open_desk(place, "clerk")
    assert found.value is not None
    return found.value


def test_a_job_folder_becomes_a_revision(place: str, tmp_path: Path) -> None:
    """Folder, proof, ledger: the revision is there, its cuts come back with the passphrase only."""
    at = desk_of(place)
    assert at.do(partial(acts.add_site, name="Alder Quay")).done
    entry = work.Entry(folder=tmp_path / "job", site="Alder Quay", system="Quay")
    wrong = work.bring_job(at, entry, "not the right words")
    assert [one.code for one in wrong.findings] == ["ledger-wrong-passphrase"]
    done = work.bring_job(at, entry, kit.PASSPHRASE)
    assert [event.kind.value for event in done.events] == ["system", "proved"]
    early = work.cuts(at, kit.PASSPHRASE, "Quay", "sales")
    assert [one.code for one in early.findings] == ["ledger-not-approved"]
    at.do(partial(acts.approve, system="Quay", number=1, by="Office", authority="order 7"))
    assert work.cuts(at, kit.PASSPHRASE, "Quay", "sales").value == (1, "343621")
    unknown = work.cuts(at, kit.PASSPHRASE, "Quay", "nobody")
    assert [one.code for one in unknown.findings] == ["ledger-unknown"]
    unknown_door = work.pins(at, kit.PASSPHRASE, "Quay", "no door")
    assert [one.code for one in unknown_door.findings] == ["ledger-unknown"]
    at.do(partial(acts.pin, system="Quay", door="106"))
    plan, there = work.pins(at, kit.PASSPHRASE, "Quay", "106").value or []
    assert (plan.mark, there.mark) == ("", "106")
    assert plan.stacks == there.stacks
    at.close()


def test_a_folder_that_is_none_stays_out(place: str, tmp_path: Path) -> None:
    """The folder's own finding comes back, and the passphrase is not even asked for."""
    at = desk_of(place)
    entry = work.Entry(folder=tmp_path / "nowhere", site="Alder Quay")
    found = work.bring_job(at, entry, kit.PASSPHRASE)
    assert [one.code for one in found.findings] == ["folder-not-a-job"]
    at.close()


def test_troubles_are_findings(place: str, tmp_path: Path) -> None:
    """Missing ledgers, bad places and files in the way are answers, not exceptions."""
    nowhere = str(tmp_path / "none.db")
    (tmp_path / "file").write_text("in the way")
    at = desk_of(place)
    blocked = tmp_path / "file" / "x"
    found = [
        work.open_desk(nowhere).findings,
        work.open_desk("mysql://x/y").findings,
        work.upgrade(nowhere, "clerk").findings,
        work.new_ledger(place, "clerk", kit.PASSPHRASE).findings,
        work.new_ledger(str(blocked), "clerk", kit.PASSPHRASE).findings,
        work.bring_back(tmp_path / "none.db", place, "clerk").findings,
        work.bring_back(tmp_path / "l.db", str(blocked), "clerk").findings,
        work.back_up(at, blocked).findings,
        work.export(at, blocked).findings,
    ]
    assert [[one.code for one in some] for some in found] == [
        ["ledger-none-here"],
        ["ledger-no-such-place"],
        ["ledger-none-here"],
        ["ledger-exists"],
        ["ledger-file-error"],
        ["ledger-none-here"],
        ["ledger-file-error"],
        ["ledger-file-error"],
        ["ledger-file-error"],
    ]
    at.close()


def test_a_database_that_fails_is_a_finding(place: str) -> None:
    """Whatever is done or asked at the desk of a damaged ledger is answered in words."""
    at = desk_of(place)
    Path(place).write_bytes(b"scrambled" * 4000)
    for side in ("-wal", "-shm"):
        Path(place + side).unlink(missing_ok=True)
    at.ledger.engine.dispose()
    damaged = ["ledger-damaged"]
    done = at.do(partial(acts.add_site, name="Alder Quay"))
    assert [one.code for one in done.findings] == damaged
    assert [one.code for one in at.ask(acts.systems).findings] == damaged
    assert [one.code for one in at.unlock(kit.PASSPHRASE).findings] == damaged
    assert [one.code for one in work.check(at).findings] == damaged
    changed = work.new_passphrase(at, kit.PASSPHRASE, "anchors and new sails")
    assert [one.code for one in changed.findings] == damaged
    at.close()


def test_exports_are_closed_to_others(place: str, tmp_path: Path) -> None:
    """An export tells who holds what: its folder has mode 0700, its files 0600."""
    at = desk_of(place)
    made = work.export(at, tmp_path / "out")
    assert made.value is not None
    assert (tmp_path / "out").stat().st_mode & 0o777 == 0o700
    modes = {path.stat().st_mode & 0o777 for path in (tmp_path / "out").iterdir()}
    assert modes == {0o600}
    assert sorted(made.value) == sorted(path.name for path in (tmp_path / "out").iterdir())
    at.close()


def test_the_usual_place_and_clerk(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    """The environment names them; otherwise a file of the user's own and the login name."""
    monkeypatch.setenv("PINLOOM_LEDGER", "postgresql://h/d")
    monkeypatch.setenv("PINLOOM_CLERK", "front desk")
    assert (work.usual_place(), work.usual_clerk()) == ("postgresql://h/d", "front desk")
    monkeypatch.delenv("PINLOOM_LEDGER")
    monkeypatch.delenv("PINLOOM_CLERK")
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path))
    monkeypatch.setenv("LOGNAME", "rigger")
    assert work.usual_place() == str(tmp_path / "pinloom" / "ledger.db")
    assert work.usual_clerk() == "rigger"
    made = work.new_ledger("", "", kit.PASSPHRASE)
    assert made.value == str(tmp_path / "pinloom" / "ledger.db")
    assert (tmp_path / "pinloom").stat().st_mode & 0o777 == 0o700
