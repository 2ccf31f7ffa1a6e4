"""The chain: what is recorded stays, and whatever is altered, removed or reordered is named."""

import hashlib
import json
from collections import Counter
from typing import Any

import pytest
from sqlalchemy import Column, text

from pinloom.core.findings import Finding
from pinloom.ledger import counter, lists_out, people, workshop
from pinloom.ledger.database import Trouble, Where
from pinloom.ledger.events import CHAINED, FORM, NO_HASH, EventKind, hash_of, stored
from pinloom.ledger.rows import ROWS
from pinloom.ledger.schema import STATE_TABLES, TRIGGERS
from pinloom.ledger.store import Ledger
from pinloom.ledger.verify import verify
from pinloom.ledger.view import Writing, unstamp
from tests.ledger import kit

COLUMNS = (*CHAINED, "hash")


def said(ledger: Ledger, *anchors: str) -> list[tuple[str, str]]:
    """Codes of a verification with the number of the event, or the table, that they name."""
    found = ledger.ask(lambda view: verify(view, anchors)).findings
    return [(one.code, dict(one.values).get("seq") or "") for one in found]


def tamper(ledger: Ledger, *statements: str) -> None:
    """Change the database as somebody with full rights would: triggers off, then whatever."""
    with ledger.transaction(writing=True) as connection:
        for name in TRIGGERS:
            table = name.split("_")[0]
            if connection.dialect.name == "sqlite":
                connection.execute(text(f"DROP TRIGGER IF EXISTS {name}"))
            else:
                connection.execute(text(f"ALTER TABLE {table} DISABLE TRIGGER USER"))
        for statement in statements:
            connection.execute(text(statement))
        for name in TRIGGERS:
            table = name.split("_")[0]
            if connection.dialect.name == "postgresql":
                connection.execute(text(f"ALTER TABLE {table} ENABLE TRIGGER USER"))


def named(ledger: Ledger, *statements: str) -> list[tuple[str, str]]:
    """What is found after tampering, without the remark on the missing triggers."""
    tamper(ledger, *statements)
    return [one for one in said(ledger) if one[0] != "ledger-unguarded"]


def test_a_sound_ledger_is_found_sound(ledger: Ledger) -> None:
    """Nothing is said of a ledger that only this program wrote; every event was read."""
    checked = ledger.ask(verify)
    assert checked.findings == []
    assert checked.events == ledger.ask(lambda view: view.head()).seq > 30


def test_the_hash_is_the_documented_one(ledger: Ledger) -> None:
    """Plain hashlib over the exported lines gives every hash, by the rule in the documents."""
    files = dict(ledger.ask(lambda view: dict(lists_out.written(view))))
    before = NO_HASH
    for line in files["events.jsonl"].decode("utf-8").splitlines():
        row = json.loads(line)
        digest = hashlib.sha256()
        for part in (FORM, *("" if row[c] is None else str(row[c]) for c in CHAINED)):
            raw = part.encode("utf-8")
            digest.update(len(raw).to_bytes(8, "big") + raw)
        assert row["prev"] == before
        assert row["hash"] == digest.hexdigest()
        before = row["hash"]


def test_the_database_refuses_changes_to_the_chain(ledger: Ledger) -> None:
    """Triggers and keys forbid update, delete and a second row of one number."""
    for statement in (
        "UPDATE events SET who = 'x' WHERE seq = 3",
        "DELETE FROM events WHERE seq = 3",
        "UPDATE sealed SET seq = seq + 1",
        "DELETE FROM sealed",
        "INSERT INTO events SELECT * FROM events WHERE seq = 3",
    ):
        refusal = r"never changed|UNIQUE|unique|duplicate"
        with (
            pytest.raises(Exception, match=refusal),
            ledger.transaction(writing=True) as connection,
        ):
            connection.execute(text(statement))
    assert said(ledger) == []


def test_sqlite_refuses_a_replacement(ledger: Ledger) -> None:
    """SQLite's REPLACE would delete without its delete trigger; that way is closed as well, and
    PostgreSQL's TRUNCATE too."""
    sqlite = ledger.engine.dialect.name == "sqlite"
    replace = "INSERT OR REPLACE INTO events SELECT * FROM events WHERE seq = 3"
    with (
        pytest.raises(Exception, match="never changed"),
        ledger.transaction(writing=True) as connection,
    ):
        connection.execute(text(replace if sqlite else "TRUNCATE events"))


def test_missing_triggers_are_noticed(ledger: Ledger) -> None:
    """A database whose guards were taken away is told on even while the rows are whole."""
    name = TRIGGERS[0]
    on = "" if ledger.engine.dialect.name == "sqlite" else " ON events"
    with ledger.transaction(writing=True) as connection:
        connection.execute(text(f"DROP TRIGGER {name}{on}"))
    assert said(ledger) == [("ledger-unguarded", "")]


CHANGES: dict[str, str] = {
    "at": "'2026-03-02T09:00:00.000001Z'",
    "kind": "'spoiled'",
    "who": "who || 'x'",
    "why": "why || ' '",
    "system": "coalesce(system, 0) + 1",
    "subject": "coalesce(subject, 0) + 1",
    "party": "coalesce(party, 0) + 1",
    "name": "name || '.'",
    "data": "data || ' '",
    "flag": "'x'",
    "prev": "substr(prev, 2, 63) || 'g'",
    "hash": "substr(hash, 2, 63) || 'g'",
}


def test_every_altered_field_is_named(ledger: Ledger) -> None:
    """One field of one event changed: that event is named and no other, for every field."""
    assert set(CHANGES) == set(COLUMNS) - {"seq"}
    for column, change in CHANGES.items():
        before = stored(ledger.ask(lambda view: view.event(20)))  # type: ignore[arg-type]
        old = before[COLUMNS.index(column)]
        found = named(ledger, f"UPDATE events SET {column} = {change} WHERE seq = 20")
        assert found == [("ledger-altered", "20")], column
        with ledger.transaction(writing=True) as connection:
            put = text(f"UPDATE events SET {column} = :old WHERE seq = 20")
            if connection.dialect.name == "postgresql":
                connection.execute(text("ALTER TABLE events DISABLE TRIGGER USER"))
            connection.execute(put, {"old": old})
        assert [one for one in said(ledger) if one[0] != "ledger-unguarded"] == []


def test_a_removed_event_is_named(ledger: Ledger) -> None:
    """A gap is named by its numbers: one event, and a run of them."""
    assert named(ledger, "DELETE FROM events WHERE seq = 20") == [("ledger-missing", "20")]
    found = named(ledger, "DELETE FROM events WHERE seq BETWEEN 25 AND 27")
    assert [code for code, _ in found] == ["ledger-missing", "ledger-missing-run"]


def test_a_removed_end_is_named(ledger: Ledger) -> None:
    """Events cut off at the end do not leave a gap; the note of the last event tells."""
    last = ledger.ask(lambda view: view.head()).seq
    found = named(ledger, f"DELETE FROM events WHERE seq > {last - 3}")
    assert "ledger-head-differs" in [code for code, _ in found]


def test_reordered_events_are_named(ledger: Ledger) -> None:
    """Two events that changed places are both named as out of place."""
    found = named(
        ledger,
        "UPDATE events SET seq = -1 WHERE seq = 20",
        "UPDATE events SET seq = 20 WHERE seq = 25",
        "UPDATE events SET seq = 25 WHERE seq = -1",
    )
    assert ("ledger-out-of-place", "20") in found
    assert ("ledger-out-of-place", "25") in found


def test_an_event_given_another_number_is_named(ledger: Ledger) -> None:
    """An event moved to the end leaves a gap and is out of place there."""
    last = ledger.ask(lambda view: view.head()).seq
    found = named(ledger, f"UPDATE events SET seq = {last + 1} WHERE seq = 20")
    assert found[:2] == [("ledger-missing", "20"), ("ledger-out-of-place", str(last + 1))]


def test_an_event_rewritten_with_its_hash_is_named(ledger: Ledger) -> None:
    """Whoever rewrites an event and its hash is betrayed by the event after it."""
    event = ledger.ask(lambda view: view.event(20))
    assert event is not None
    row = list(stored(event))
    row[COLUMNS.index("who")] = "somebody else"
    forged = hash_of(tuple(row[: len(CHAINED)]))
    found = named(
        ledger, f"UPDATE events SET who = 'somebody else', hash = '{forged}' WHERE seq = 20"
    )
    assert found == [("ledger-broken", "21")]


def test_a_receipt_betrays_a_chain_rewritten_whole(ledger: Ledger) -> None:
    """A chain made anew is sound in itself; the number on a receipt tells that it is another."""
    receipt = ledger.ask(lambda view: view.events()[-1]).receipt
    assert said(ledger, receipt) == []
    number, _, tail = receipt.partition("-")
    wrong = "0" if tail[0] != "0" else "1"
    assert said(ledger, f"{number}-{wrong}{tail[1:]}") == [("ledger-anchor-differs", number)]
    assert said(ledger, f"{int(number) + 7}-{tail}") == [
        ("ledger-anchor-missing", str(int(number) + 7))
    ]


def test_every_altered_state_table_is_noticed(ledger: Ledger) -> None:
    """Any column of any state row changed by hand is found, and the row is named; upgrading again
    works the tables out from the events.

    The first, second, third ... column beside the key of every table at once, row by row; only
    tables that the boatyard fills can be altered, and those are all of them.
    """
    kit.do(ledger, lambda tx: workshop.order(tx, kit.SYSTEM, "AA1", "Harbour office", 1))
    rest = {
        table: [column for column in table.columns if column.name not in kind.KEY]
        for kind, table in STATE_TABLES.items()
    }
    assert set(STATE_TABLES) == set(ROWS)
    for index in range(max(len(columns) for columns in rest.values())):
        wanted = set()
        with ledger.transaction(writing=True) as connection:
            for table, columns in rest.items():
                if index < len(columns):
                    change = text(f"UPDATE {table.name} SET {_changed(columns[index])}")
                    rows = connection.execute(change).rowcount
                    assert rows > 0, table.name
                    wanted.add((table.name.removeprefix("now_"), rows))
        found = ledger.ask(verify).findings
        assert {one.code for one in found} == {"ledger-state-altered"}
        assert set(Counter(one.value("table") for one in found).items()) == wanted
        again = Ledger.upgrade(ledger.place, ledger.clock, kit.CLERK, again=True)
        assert again is not None
        again.close()
    assert said(ledger) == []


def _changed(column: Column[Any]) -> str:
    """An assignment that changes a column in every row."""
    name = column.name
    if column.type.python_type is bool:
        return f"{name} = NOT {name}"
    return f"{name} = {name} || 'x'" if column.type.python_type is str else f"{name} = {name} + 1"


def test_a_state_row_added_or_removed_is_noticed(ledger: Ledger) -> None:
    """Rows too many and too few are named by their keys."""
    with ledger.transaction(writing=True) as connection:
        connection.execute(text("DELETE FROM now_copy WHERE stamp = 'AA1-1'"))
        connection.execute(text("INSERT INTO now_site VALUES (999, 'nowhere')"))
    found = ledger.ask(verify).findings
    assert [(one.code, one.value("table")) for one in found] == [
        ("ledger-state-altered", "site"),
        ("ledger-state-altered", "copy"),
    ]


@pytest.mark.parametrize(
    ("statement", "code"),
    [
        ("UPDATE sealed SET body = CAST('x' AS {blob})", "ledger-seal-altered"),
        ("DELETE FROM sealed", "ledger-seal-missing"),
        ("INSERT INTO sealed SELECT seq + 1, body FROM sealed", "ledger-seal-stray"),
        ("UPDATE strongbox SET text = replace(text, '\"rounds\"\\:1', '\"rounds\"\\:2')", "box"),
        ("UPDATE head SET hash = 'x'", "ledger-head-differs"),
        ("UPDATE head SET seq = seq - 1", "ledger-head-differs"),
    ],
)
def test_altered_seals_and_keeper_rows_are_noticed(
    ledger: Ledger, statement: str, code: str
) -> None:
    """Sealed bytes, the wrapped key and the note of the last event are under the chain as well."""
    code = "ledger-strongbox-altered" if code == "box" else code
    blob = "blob" if ledger.engine.dialect.name == "sqlite" else "bytea"
    assert [one[0] for one in named(ledger, statement.format(blob=blob))] == [code]


def test_a_forged_event_must_make_sense(ledger: Ledger) -> None:
    """An event appended with a right hash but no sense (a key issued that is out) is named."""
    issue = next(e for e in ledger.ask(lambda v: v.events()) if e.kind is EventKind.ISSUED)
    head = ledger.ask(lambda view: view.head())
    row = [*stored(issue)]
    row[0], row[11] = head.seq + 1, head.hash
    row[12] = hash_of(tuple(row[: len(CHAINED)]))
    values = dict(zip(COLUMNS, row, strict=True))
    with ledger.transaction(writing=True) as connection:
        marks = ", ".join(f":{name}" for name in COLUMNS)
        insert = f"INSERT INTO events ({', '.join(COLUMNS)}) VALUES ({marks})"
        connection.execute(text(insert), values)
        connection.execute(
            text("UPDATE head SET seq = :seq, hash = :hash"),
            {"seq": head.seq + 1, "hash": row[12]},
        )
    assert said(ledger) == [("ledger-incoherent", str(head.seq + 1))]


def test_a_clock_set_back_is_marked(ledger: Ledger, clock: kit.Clock) -> None:
    """An event dated before the one it follows is recorded, marked and told on; order stays."""
    clock.forward(hours=-3)
    event = kit.do(ledger, lambda tx: counter.take_back(tx, "AA1-1")).events[0]
    assert event.flag == "clock set back"
    assert said(ledger) == [("ledger-clock-back", str(event.seq))]
    assert ledger.ask(verify).sound
    after = kit.do(ledger, lambda tx: counter.issue(tx, "AA1-1", "Rigger")).events[0]
    assert after.flag == ""


def test_two_machines_clocks_may_differ_a_little(ledger: Ledger, clock: kit.Clock) -> None:
    """A few seconds between two benches are no clock set back."""
    clock.forward(seconds=-4)
    event = kit.do(ledger, lambda tx: counter.take_back(tx, "AA1-1")).events[0]
    assert event.flag == ""
    assert said(ledger) == []


def test_an_action_is_all_or_nothing(ledger: Ledger) -> None:
    """A fault after several events takes all of them back, state and chain alike."""

    def action(tx: Writing) -> list[Finding]:
        people.add_site(tx, "North basin")
        people.add_person(tx, "Diver")
        return people.add_site(tx, kit.SITE)

    assert kit.refused(ledger, action) == ["ledger-known-already"]
    assert kit.do(ledger, lambda tx: people.add_site(tx, "North basin")).done
    assert said(ledger) == []


def test_a_bug_in_the_middle_keeps_nothing(ledger: Ledger) -> None:
    """An exception inside an action leaves the ledger as it was."""
    before = ledger.ask(lambda view: view.head())

    def action(tx: Writing) -> list[Finding]:
        people.add_site(tx, "North basin")
        raise RuntimeError("a bug")

    with pytest.raises(RuntimeError, match="a bug"):
        ledger.do(action, kit.CLERK)
    assert ledger.ask(lambda view: view.head()) == before
    assert said(ledger) == []


def test_a_dry_run_keeps_nothing(ledger: Ledger) -> None:
    """A dry run says what would be recorded and records none of it."""
    before = ledger.ask(lambda view: view.head())
    outcome = ledger.do(lambda tx: people.add_site(tx, "North basin"), kit.CLERK, dry=True)
    assert [event.kind for event in outcome.events] == [EventKind.SITE]
    assert ledger.ask(lambda view: view.head()) == before


def test_event_times_are_utc_and_sort_as_text(ledger: Ledger) -> None:
    """Stamps are of one length, in UTC, and give back the time they were made of."""
    times = [event.at for event in ledger.ask(lambda view: view.events())]
    assert times == sorted(times)
    assert {len(at) for at in times} == {27}
    assert unstamp(times[0]).isoformat() == "2026-03-02T09:00:00+00:00"


def test_a_new_ledger_never_overwrites_one(ledger: Ledger, clock: kit.Clock) -> None:
    """Making a ledger where one is, or opening one where none is, is refused in words."""
    with pytest.raises(Trouble) as trouble:
        kit.new_ledger(ledger.place, clock)
    assert trouble.value.finding.code == "ledger-exists"
    assert said(ledger) == []


def test_no_ledger_is_said_so(place: Where, clock: kit.Clock) -> None:
    """An empty database and a missing file are told apart from a broken program."""
    with pytest.raises(Trouble) as trouble:
        Ledger.open(place, clock)
    assert trouble.value.finding.code == "ledger-none-here"


def test_single_field_alterations_of_a_thousand_events(tmp_path: object, clock: kit.Clock) -> None:
    """In a chain of 1,000 events every 41st event, one field of it altered, each field in turn, is
    named, and it alone. (``./dev bench ledger`` goes through all fields of all events.)

    The rows are checked as ``verify`` checks them, without a database between.
    """
    from tests.ledger.forge import alterations, check, thousand

    rows = thousand(clock)
    assert len(rows) == 1000
    assert check(rows) == []
    seen: set[str] = set()
    for number in range(1, 1001, 41):
        column, altered = alterations(rows, number)[number % len(COLUMNS)]
        seen.add(column)
        found = check(altered)
        assert number in found, (number, column)
        assert column == "seq" or found == [number]
    assert seen == set(COLUMNS)
