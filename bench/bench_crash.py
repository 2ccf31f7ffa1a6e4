"""Clients killed with SIGKILL at random moments of busy work; what they acknowledged must be there.

An event counts as acknowledged once its line, written after the commit returned, is in the pipe to
the parent. After each kill: SQLite's own integrity check, the chain, the state tables against the
events, and every acknowledged event of that client by number and hash. A fresh ledger after every
``FRESH`` kills keeps the checks short. PostgreSQL: the client is killed, the server is not.

Then many clients on one PostgreSQL ledger, issuing and returning the same keys.
"""

import os
import random
import shutil
import signal
import sqlite3
import tempfile
import time
from collections.abc import Iterator
from contextlib import closing, contextmanager
from functools import partial
from pathlib import Path

from bench.kit import Record, keep, timed
from pinloom.ledger import workshop
from pinloom.ledger.backup import restore
from pinloom.ledger.database import Where, where
from pinloom.ledger.events import EventKind
from pinloom.ledger.store import Ledger
from pinloom.ledger.verify import verify
from pinloom.workflow.clock import now
from tests import machine
from tests.ledger import kit, rush

KILLS = {False: 1000, True: 20}
FRESH = 50
SEED = 20
CLIENTS, KEYS, TURNS = 20, 100, {False: 200, True: 20}
LONGEST = 0.4  # seconds of work before the kill


def run(out_dir: Path, quick: bool) -> None:
    """Kill on both databases, then rush; print and keep what came of it."""
    records: list[Record] = []
    with tempfile.TemporaryDirectory(prefix="pinloom-crash-") as folder:
        model = Path(folder) / "model.db"
        _model(model)
        records.append(_kills(model, Path(folder), None, KILLS[quick]))
        if machine.missing(machine.POSTGRES):
            print(machine.REMEDIES[machine.POSTGRES])
        else:
            with machine.postgres_server() as server:
                records.append(_kills(model, Path(folder), server, KILLS[quick]))
                records.append(_rush(model, server, TURNS[quick]))
    keep(out_dir, "crash", records, quick=quick)


def _model(path: Path, copies: int = 2) -> None:
    ledger = kit.new_ledger(Where(path=path), kit.Clock())
    kit.populate(ledger)
    for name in kit.CUTS:
        for _ in range(copies - 2):
            kit.do(ledger, partial(workshop.cut, system=kit.SYSTEM, key=name))
    ledger.close()


def _kills(model: Path, folder: Path, server: machine.PostgresServer | None, kills: int) -> Record:
    moments = random.Random(SEED)
    acknowledged = lost = broken = 0
    place = Where(path=folder / "a.db")
    started = time.perf_counter()
    for number in range(kills):
        if number % FRESH == 0:
            place = _fresh(model, folder, server, number)
        child, pipe = rush.busy_client(place, SEED + number)
        time.sleep(moments.uniform(0, LONGEST))
        os.kill(child, signal.SIGKILL)
        seen = rush.acknowledged(child, pipe)
        missing, sound = _look(place, seen)
        acknowledged += len(seen)
        lost += missing
        broken += not sound
    name = "PostgreSQL" if server else "SQLite"
    seconds = time.perf_counter() - started
    print(
        f"{name}: {kills} kills, {acknowledged} events acknowledged, {lost} lost, "
        f"{broken} ledgers not sound, {seconds:.0f} s"
    )
    return {
        "what": "kill -9",
        "database": name,
        "kills": kills,
        "acknowledged": acknowledged,
        "lost": lost,
        "not_sound": broken,
        "seconds": seconds,
    }


def _fresh(model: Path, folder: Path, server: machine.PostgresServer | None, number: int) -> Where:
    if server is None:
        for path in folder.glob("a.db*"):
            path.unlink()
        shutil.copy(model, folder / "a.db")
        return Where(path=folder / "a.db")
    return _database(model, server, f"crash_{number}")


def _database(model: Path, server: machine.PostgresServer, name: str) -> Where:
    import psycopg

    admin = server.url("postgres").replace("+psycopg", "", 1)
    with psycopg.connect(admin, autocommit=True) as connection:
        connection.execute(f'CREATE DATABASE "{name}"')
    place = where(server.url(name))
    found = restore(model, place, now, kit.CLERK)
    assert not [one for one in found if one.severity.value == "fault"]
    return place


def _look(place: Where, seen: dict[int, str]) -> tuple[int, bool]:
    """How many acknowledged events are missing, and whether the ledger is sound."""
    sound = True
    if place.path is not None:
        with closing(sqlite3.connect(place.path)) as link:
            sound = link.execute("PRAGMA integrity_check").fetchall() == [("ok",)]
    with _opened(place) as ledger:
        checked = ledger.ask(verify)
        hashes = {event.seq: event.hash for event in ledger.ask(lambda view: view.events())}
    missing = sum(hashes.get(seq) != digest for seq, digest in seen.items())
    return missing, sound and checked.sound


@contextmanager
def _opened(place: Where) -> Iterator[Ledger]:
    ledger = Ledger.open(place, now)
    try:
        yield ledger
    finally:
        ledger.close()


def _rush(model: Path, server: machine.PostgresServer, turns: int) -> Record:
    """Many clients, the same keys: no key out twice, nothing acknowledged lost."""
    wide = model.with_name("wide.db")
    _model(wide, copies=KEYS // len(kit.CUTS))
    place = _database(wide, server, "rush")
    stamps = [f"{n}-{i}" for n in kit.CUTS for i in range(1, KEYS // len(kit.CUTS) + 1)]
    result, seconds = timed(lambda: rush.rush(place, CLIENTS, turns, SEED, stamps))
    with _opened(place) as ledger:
        checked = ledger.ask(verify)
        events = ledger.ask(lambda view: view.events())
    hashes = {event.seq: event.hash for event in events}
    lost = sum(hashes.get(seq) != digest for seq, digest in result.events.items())
    out: set[int] = set()
    twice = 0
    for event in events:
        if event.kind is EventKind.ISSUED:
            twice += event.subject in out
            out.add(event.subject or 0)
        elif event.kind is EventKind.RETURNED:
            out.discard(event.subject or 0)
    print(
        f"PostgreSQL: {CLIENTS} clients on {len(stamps)} keys, {result.acknowledged} events, "
        f"{result.refused} refusals, {twice} keys out twice, {lost} lost, "
        f"{'sound' if checked.sound else 'NOT SOUND'}, {seconds:.0f} s, "
        f"{result.acknowledged / seconds:.0f} events/s"
    )
    return {
        "what": "clients at once",
        "database": "PostgreSQL",
        "clients": CLIENTS,
        "keys": len(stamps),
        "acknowledged": result.acknowledged,
        "refused": result.refused,
        "out_twice": twice,
        "lost": lost,
        "sound": checked.sound,
        "seconds": seconds,
    }
