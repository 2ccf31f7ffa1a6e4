"""The passphrase: refused slowly, changed whole."""

from datetime import timedelta

import pytest
from sqlalchemy import text

from pinloom.core.findings import Finding
from pinloom.ledger import secrets
from pinloom.ledger.database import Trouble, Where
from pinloom.ledger.rows import RevisionRow
from pinloom.ledger.secrets import Secrets
from pinloom.ledger.store import Ledger
from pinloom.ledger.unlocking import LONGEST, change_passphrase, unlock, wait_after
from pinloom.ledger.verify import verify
from pinloom.vault import DataKey, Strongbox
from tests.ledger import kit


def attempt(ledger: Ledger, passphrase: str) -> str:
    """The code of a refusal, or nothing."""
    found = unlock(ledger, passphrase)
    return found.code if isinstance(found, Finding) else ""


def test_waits_double_up_to_an_hour() -> None:
    """Three failures are free; then 2, 4, 8 ... seconds, and never more than an hour."""
    waits = [int(wait_after(failed).total_seconds()) for failed in range(8)]
    assert waits == [0, 0, 0, 0, 2, 4, 8, 16]
    assert wait_after(10_000) == LONGEST == timedelta(hours=1)


def test_wrong_passphrases_slow_down_and_a_restart_does_not_help(
    ledger: Ledger, clock: kit.Clock
) -> None:
    """From the fourth failure on there is a wait, also for the right passphrase and after the
    ledger was closed and opened; when it is over the right one opens and the count begins anew.
    """
    for _ in range(4):
        assert attempt(ledger, "wrong words here") == "ledger-wrong-passphrase"
    assert attempt(ledger, kit.PASSPHRASE) == "ledger-wait"
    again = Ledger.open(ledger.place, clock)
    assert attempt(again, kit.PASSPHRASE) == "ledger-wait"
    clock.forward(seconds=2)
    assert attempt(again, "wrong words here") == "ledger-wrong-passphrase"
    clock.forward(seconds=3)
    assert attempt(again, kit.PASSPHRASE) == "ledger-wait"
    clock.forward(seconds=1)
    assert attempt(again, kit.PASSPHRASE) == ""
    assert attempt(again, "wrong words here") == "ledger-wrong-passphrase"
    assert attempt(again, kit.PASSPHRASE) == ""
    again.close()


def test_a_clock_set_back_does_not_shorten_the_wait(ledger: Ledger, clock: kit.Clock) -> None:
    """Setting the clock back leaves the whole wait to be sat out, and no more than that."""
    for _ in range(6):
        clock.forward(minutes=1)
        assert attempt(ledger, "wrong words here") == "ledger-wrong-passphrase"
    clock.forward(days=-30)
    assert attempt(ledger, kit.PASSPHRASE) == "ledger-wait"
    clock.forward(seconds=7)
    assert attempt(ledger, kit.PASSPHRASE) == "ledger-wait"
    clock.forward(seconds=1)
    assert attempt(ledger, kit.PASSPHRASE) == ""


def test_a_failure_counts_before_it_is_tried(ledger: Ledger, monkeypatch: object) -> None:
    """Killing the program while it tries a passphrase gives no free guess."""
    assert isinstance(monkeypatch, pytest.MonkeyPatch)

    def killed(_: str) -> None:
        raise KeyboardInterrupt

    with monkeypatch.context() as patched:
        patched.setattr(Strongbox, "parse", killed)
        for _ in range(4):
            with pytest.raises(KeyboardInterrupt):
                unlock(ledger, kit.PASSPHRASE)
    assert attempt(ledger, kit.PASSPHRASE) == "ledger-wait"


def test_short_passphrases_are_refused(place: Where, clock: kit.Clock) -> None:
    """Ten signs at least, at the start and at a change."""
    with pytest.raises(Trouble) as trouble:
        Ledger.create(place, clock, kit.CLERK, "too short", kit.QUICK)
    assert trouble.value.finding.code == "ledger-passphrase-short"
    made = kit.new_ledger(place, clock)
    outcome = change_passphrase(made, kit.PASSPHRASE, "short", kit.CLERK)
    assert kit.codes(outcome) == ["ledger-passphrase-short"]
    made.close()


def test_a_new_passphrase_replaces_the_old_one(ledger: Ledger) -> None:
    """After a change the new one opens every sealed body, the old one none; the chain says so."""
    new = "anchors and new sails"
    wrong = change_passphrase(ledger, "wrong words here", new, kit.CLERK)
    assert kit.codes(wrong) == ["ledger-wrong-passphrase"]
    outcome = change_passphrase(ledger, kit.PASSPHRASE, new, kit.CLERK, kit.QUICK)
    assert [event.kind.value for event in outcome.events] == ["passphrase changed"]
    assert attempt(ledger, kit.PASSPHRASE) == "ledger-wrong-passphrase"
    key = unlock(ledger, new)
    assert isinstance(key, DataKey)
    (row,) = ledger.ask(lambda view: view.rows(RevisionRow))
    assert isinstance(ledger.ask(lambda view: secrets.reveal(view, key, row)), Secrets)
    assert ledger.ask(verify).findings == []


def test_a_change_that_fails_leaves_the_old_passphrase(ledger: Ledger) -> None:
    """A change broken off at its last step has not happened: box, chain and passphrase are old."""
    before = ledger.ask(lambda view: (view.strongbox(), view.head()))
    with ledger.transaction(writing=True) as connection:
        connection.execute(text("ALTER TABLE head RENAME COLUMN at TO other"))
    with pytest.raises(Exception, match="at"):
        change_passphrase(ledger, kit.PASSPHRASE, "anchors and new sails", kit.CLERK)
    with ledger.transaction(writing=True) as connection:
        connection.execute(text("ALTER TABLE head RENAME COLUMN other TO at"))
    assert ledger.ask(lambda view: (view.strongbox(), view.head())) == before
    assert attempt(ledger, kit.PASSPHRASE) == ""


def test_a_damaged_box_is_told_from_a_wrong_passphrase(ledger: Ledger) -> None:
    """A wrapped key that nobody can read is said to be damaged."""
    with ledger.transaction(writing=True) as connection:
        connection.execute(text("UPDATE strongbox SET text = 'x'"))
    assert attempt(ledger, kit.PASSPHRASE) == "ledger-strongbox-damaged"
    codes = [one.code for one in ledger.ask(verify).findings]
    assert codes == ["ledger-strongbox-altered"]
