"""Ledgers of every released form, with data, come up to the newest on both databases.

The data are those of the boatyard as a ledger of the first form held them, frozen in ``data``.
"""

import base64
import json
from pathlib import Path
from typing import Any

import pytest
from alembic.autogenerate import compare_metadata
from alembic.migration import MigrationContext
from sqlalchemy import insert, text

from pinloom.ledger import queries, secrets, upgrade
from pinloom.ledger.database import Trouble, Where, connect
from pinloom.ledger.rows import RevisionRow
from pinloom.ledger.schema import attempts, events, head, metadata, sealed, strongbox
from pinloom.ledger.secrets import Secrets
from pinloom.ledger.store import Ledger
from pinloom.ledger.unlocking import unlock
from pinloom.ledger.verify import verify
from pinloom.vault import DataKey
from tests.ledger import kit
from tests.ledger.test_counter import person

DATA = Path(__file__).parent / "data"
FORMS = ["0001", "0002"]


def lines(name: str) -> list[dict[str, Any]]:
    """The rows of a frozen table."""
    return [json.loads(line) for line in (DATA / name).read_text("utf-8").splitlines()]


def old_ledger(place: Where, form: str) -> None:
    """A ledger of an older form with the frozen rows, as that version left it."""
    ledger = Ledger(connect(place, make=True), place, kit.Clock())
    rows = lines("form-0001-events.jsonl")
    with ledger.transaction(writing=True) as connection:
        upgrade.run(connection, form)
        connection.execute(insert(events), rows)
        for row in lines("form-0001-sealed.jsonl"):
            body = base64.b64decode(row["body"])
            connection.execute(insert(sealed), {"seq": row["seq"], "body": body})
        box = (DATA / "form-0001-strongbox.json").read_text("ascii").strip()
        connection.execute(insert(strongbox), {"id": 1, "text": box})
        connection.execute(insert(attempts), {"id": 1, "failed": 0, "last": ""})
        end = {"id": 1, "state": 0} | {name: rows[-1][name] for name in ("seq", "hash", "at")}
        connection.execute(insert(head), end)
        if form >= "0002":
            upgrade.afresh(connection)
    ledger.close()


def test_every_step_is_tested() -> None:
    """The forms tested here are all the steps there are, and the newest is the program's own."""
    steps = sorted(path.name[1:5] for path in (upgrade._STEPS / "versions").glob("s[0-9]*.py"))
    assert steps == FORMS
    assert FORMS[-1] == upgrade.NEWEST


@pytest.mark.parametrize("form", FORMS)
def test_older_forms_come_up_with_their_data(place: Where, clock: kit.Clock, form: str) -> None:
    """Events and seals are kept to the byte; what is so now is worked out from them; the ledger
    verifies, opens its seals with the old passphrase, and works.
    """
    old_ledger(place, form)
    if form != upgrade.NEWEST:
        with pytest.raises(Trouble) as trouble:
            Ledger.open(place, clock)
        assert trouble.value.finding.code == "ledger-older"
    made = Ledger.upgrade(place, clock, kit.CLERK)
    assert (made is None) == (form == upgrade.NEWEST)
    if made is not None:
        made.close()
    ledger = Ledger.open(place, clock)
    assert ledger.ask(verify).findings == []
    rows = lines("form-0001-events.jsonl")
    kept = ledger.ask(lambda view: view.events())
    assert [event.hash for event in kept][: len(rows)] == [row["hash"] for row in rows]
    assert [event.kind.value for event in kept][len(rows) :] == (["upgraded"] if made else [])
    held = ledger.ask(lambda view: queries.holds(view, person(view, "Sailmaker")))
    assert [one.copy.stamp for one in held] == ["AA1-1"]
    key = unlock(ledger, kit.PASSPHRASE)
    assert isinstance(key, DataKey)
    (row,) = ledger.ask(lambda view: view.rows(RevisionRow))
    found = ledger.ask(lambda view: secrets.reveal(view, key, row))
    assert isinstance(found, Secrets)
    assert found.stamped["AA1"] == kit.sixes().stamp(kit.CUTS["AA1"])
    ledger.close()


def test_an_upgrade_broken_off_has_not_happened(
    place: Where, clock: kit.Clock, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Steps and filling are one transaction on both databases."""
    old_ledger(place, "0001")

    def broken(_: object) -> None:
        raise RuntimeError("the lights went out")

    with monkeypatch.context() as patched:
        patched.setattr(upgrade, "afresh", broken)
        with pytest.raises(RuntimeError, match="lights"):
            Ledger.upgrade(place, clock, kit.CLERK)
    ledger = Ledger(connect(place), place, clock)
    with ledger.transaction() as connection:
        assert upgrade.form(connection) == "0001"
    ledger.close()
    made = Ledger.upgrade(place, clock, kit.CLERK)
    assert made is not None
    assert made.ask(verify).findings == []
    made.close()


def test_a_chain_that_makes_no_sense_is_not_upgraded(place: Where, clock: kit.Clock) -> None:
    """An upgrade works the state out from the events, so it stops at one that cannot follow."""
    old_ledger(place, "0001")
    ledger = Ledger(connect(place), place, clock)
    with ledger.transaction(writing=True) as connection:
        if connection.dialect.name == "sqlite":
            connection.execute(text("DROP TRIGGER events_no_delete"))
        else:
            connection.execute(text("ALTER TABLE events DISABLE TRIGGER USER"))
        connection.execute(text("DELETE FROM events WHERE kind = 'person'"))
    ledger.close()
    with pytest.raises(Trouble) as trouble:
        Ledger.upgrade(place, clock, kit.CLERK)
    assert trouble.value.finding.code == "ledger-incoherent"


def test_a_newer_form_is_refused(ledger: Ledger, clock: kit.Clock) -> None:
    """A ledger that a later version wrote is neither opened nor upgraded."""
    with ledger.transaction(writing=True) as connection:
        connection.execute(text("UPDATE alembic_version SET version_num = '9999'"))
    with pytest.raises(Trouble) as trouble:
        Ledger.open(ledger.place, clock)
    assert trouble.value.finding.code == "ledger-newer"
    with pytest.raises(Trouble) as trouble:
        Ledger.upgrade(ledger.place, clock, kit.CLERK)
    assert trouble.value.finding.code == "ledger-newer"


def test_migrations_make_the_tables_of_the_schema(ledger: Ledger) -> None:
    """The steps make what the program's own description of the tables says, and no more."""
    with ledger.engine.connect() as connection:
        context = MigrationContext.configure(connection, opts={"compare_type": True})
        assert compare_metadata(context, metadata) == []
