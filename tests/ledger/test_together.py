"""Many at once, and killed at any moment."""

import os
import random
import signal
import time
from functools import partial
from pathlib import Path

import pytest

from pinloom.ledger import people
from pinloom.ledger.backup import backup, restore
from pinloom.ledger.database import Where, where
from pinloom.ledger.events import EventKind
from pinloom.ledger.store import Ledger
from pinloom.ledger.verify import verify
from pinloom.ledger.view import Head
from pinloom.workflow.clock import now
from tests.ledger import kit, rush


@pytest.mark.postgres
def test_no_key_is_out_twice_on_postgresql(filled_url: str) -> None:
    """Eight clients issue and return the same ten keys as fast as they can: every key goes out and
    comes back in turn, every client's acknowledged events are there, and the chain is whole.
    """
    _rush(where(filled_url), clients=8, turns=25)


def test_no_key_is_out_twice_on_sqlite(tmp_path: Path, model_file: bytes) -> None:
    """Four programs on one file do the same."""
    path = tmp_path / "a.db"
    path.write_bytes(model_file)
    _rush(Where(path=path), clients=4, turns=25)


def _rush(place: Where, clients: int, turns: int) -> None:
    result = rush.rush(place, clients, turns, seed=7)
    assert result.acknowledged > clients
    assert result.refused > 0, "nobody met anybody: the test says nothing"
    ledger = Ledger.open(place, kit.Clock())
    assert ledger.ask(verify).findings == []
    events = ledger.ask(lambda view: view.events())
    assert {event.seq: event.hash for event in events}.items() >= result.events.items()
    out: set[int] = set()
    for event in events:
        if event.kind is EventKind.ISSUED:
            assert event.subject not in out, "one key, out twice"
            out.add(event.subject or 0)
        elif event.kind is EventKind.RETURNED:
            out.remove(event.subject or 0)
    ledger.close()


@pytest.mark.parametrize("how", ["sqlite", pytest.param("postgres", marks=pytest.mark.postgres)])
def test_killed_at_any_moment(
    how: str, tmp_path: Path, model_file: bytes, request: pytest.FixtureRequest
) -> None:
    """A client killed with SIGKILL at random moments: after each kill the database's own check and
    the chain are whole, and everything it had acknowledged is there. (1,000 times on each database:
    ``./dev bench crash``.)
    """
    if how == "sqlite":
        (tmp_path / "a.db").write_bytes(model_file)
        place = Where(path=tmp_path / "a.db")
    else:
        place = where(request.getfixturevalue("filled_url"))
    moments = random.Random(8)
    acknowledged = 0
    for number in range(8):
        seen = _until_killed(place, moments.uniform(0.02, 0.25), seed=number)
        ledger = Ledger.open(place, kit.Clock())
        assert ledger.ask(verify).findings == []
        hashes = {event.seq: event.hash for event in ledger.ask(lambda view: view.events())}
        assert hashes.items() >= seen.items()
        ledger.close()
        acknowledged += len(seen)
    assert acknowledged > 8


def _until_killed(place: Where, seconds: float, seed: int) -> dict[int, str]:
    child, pipe = rush.busy_client(place, seed)
    time.sleep(0.15 + seconds)
    os.kill(child, signal.SIGKILL)
    return rush.acknowledged(child, pipe)


def test_a_restore_killed_at_any_moment(tmp_path: Path, model_file: bytes) -> None:
    """A restore into a live file, killed: the ledger is the old one or the restored one, whole."""
    path, saved = tmp_path / "a.db", tmp_path / "b.db"
    path.write_bytes(model_file)
    place = Where(path=path)
    ledger = Ledger.open(place, kit.Clock())
    for number in range(300):
        kit.do(ledger, partial(people.add_site, name=f"Basin {number}"))
    last = backup(ledger, saved)
    assert isinstance(last, Head)
    for number in range(300, 600):
        kit.do(ledger, partial(people.add_site, name=f"Basin {number}"))
    old = ledger.ask(lambda view: view.head())
    ledger.close()
    moments = random.Random(5)
    for _ in range(4):
        child = os.fork()
        if child == 0:
            try:
                restore(saved, place, now, kit.CLERK)
            finally:
                os._exit(0)
        time.sleep(moments.uniform(0.01, 0.35))
        os.kill(child, signal.SIGKILL)
        os.waitpid(child, 0)
        ledger = Ledger.open(place, kit.Clock())
        assert [one for one in ledger.ask(verify).findings if one.severity.value == "fault"] == []
        end = ledger.ask(lambda view: view.head())
        restored = ledger.ask(lambda view: view.event(last.seq))
        assert end == old or (restored is not None and restored.hash == last.hash)
        ledger.close()
    assert restore(saved, place, now, kit.CLERK) == []
    ledger = Ledger.open(place, kit.Clock())
    assert ledger.ask(lambda view: view.head()).seq == last.seq + 1
    ledger.close()
