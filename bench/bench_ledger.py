"""A ledger of a million events: verification, every question at the counter, issue and return.

Ten systems with a hundred keys and twenty copies of each, five thousand people, then issues and
returns by a fixed seed, chained and folded by the program's own rules and written in bulk. Seconds
of questions are of the worst of many calls with different arguments, in one process, file in cache.

And the chain of a thousand events with every field of every event altered, one at a time.
"""

import random
import tempfile
import time
from collections.abc import Callable, Iterator
from dataclasses import replace
from functools import partial
from pathlib import Path

from sqlalchemy import func, insert, select, update

from bench.kit import Record, keep, timed
from pinloom.core.findings import Finding
from pinloom.core.job import Job
from pinloom.ledger import counter, enter, fold, people, queries, register, workshop
from pinloom.ledger import details as d
from pinloom.ledger.backup import backup
from pinloom.ledger.database import Where
from pinloom.ledger.events import CHAINED, Event, EventKind, hash_of, stored, write_details
from pinloom.ledger.folding import Memory
from pinloom.ledger.inventory import due
from pinloom.ledger.rows import ROWS, CopyRow, CopyState, DoorRow, PersonRow, SystemRow
from pinloom.ledger.schema import events, head
from pinloom.ledger.store import Ledger, Outcome
from pinloom.ledger.upgrade import fill
from pinloom.ledger.verify import verify
from pinloom.ledger.view import Reading, Writing, stamp, table_of
from tests.ledger import forge, kit

EVENTS = {False: 1_000_000, True: 20_000}
SYSTEMS, KEYS, DOORS, COPIES, PEOPLE = 10, 100, 60, 20, 5000
CALLS = 25
SEED = 8


def run(out_dir: Path, quick: bool) -> None:
    """Build, measure, print, keep."""
    records: list[Record] = []
    with tempfile.TemporaryDirectory(prefix="pinloom-ledger-") as folder:
        place = Where(path=Path(folder) / "ledger.db")
        clock = kit.Clock()
        ledger, seconds = timed(lambda: build(place, clock, EVENTS[quick], quick))
        size = sum(path.stat().st_size for path in Path(folder).iterdir())
        print(f"built in {seconds:.0f} s, {size / 1e6:.0f} MB")
        records.append(_verify(ledger))
        records += _counter(ledger)
        records += _questions(ledger)
        records.append(_backup(ledger, Path(folder)))
        ledger.close()
    records.append(_alterations(quick))
    keep(out_dir, "ledger", records, quick=quick)


def build(place: Where, clock: kit.Clock, wanted: int, quick: bool) -> Ledger:
    """A ledger of so many events."""
    ledger = kit.new_ledger(place, clock)
    _base(ledger, quick)
    choices = random.Random(SEED)
    state = Memory()
    with ledger.transaction() as connection:
        view = Reading(connection, clock())
        for kind in ROWS:
            for row in view.rows(kind):
                state.put(row)
        last = view.event(view.head().seq)
    assert last is not None
    copies = [row.id for row in state.rows[CopyRow].values() if isinstance(row, CopyRow)]
    persons = [row.id for row in state.rows[PersonRow].values() if isinstance(row, PersonRow)]
    with ledger.transaction(writing=True) as connection:
        some: list[dict[str, object]] = []
        while last.seq < wanted:
            clock.forward(seconds=choices.randrange(20, 400))
            last = _next(state, last, choices, clock, copies, persons)
            some.append(dict(zip((*CHAINED, "hash"), stored(last), strict=True)))
            if len(some) == 5000 or last.seq == wanted:
                connection.execute(insert(events), some)
                some = []
        fill(connection, state)
        connection.execute(update(head).values(seq=last.seq, hash=last.hash, at=last.at))
    return ledger


def _base(ledger: Ledger, quick: bool) -> None:
    key = kit.key_of(ledger)
    kit.do(ledger, lambda tx: people.add_site(tx, kit.SITE))

    def many(tx: Writing) -> list[Finding]:
        for number in range(PEOPLE // (10 if quick else 1)):
            people.add_person(tx, f"Person {number}", f"Berth {number % 200}")
        return []

    kit.do(ledger, many)
    for number in range(SYSTEMS):
        name = f"Basin {number}"
        job = replace(_job(number), name=name)
        kit.do(ledger, partial(enter.enter, key=key, job=job, site=kit.SITE, system=name))
        kit.do(ledger, partial(enter.approve, system=name, number=1, by="o", authority="letter"))
        for one in job.chart.keys:
            cut = partial(workshop.cut, system=name, key=one.name, copies=2 if quick else COPIES)
            kit.do(ledger, cut)


def _job(seed: int) -> Job:
    choices = random.Random(seed)
    cuts: dict[str, tuple[int, ...]] = {}
    while len(cuts) < KEYS:
        cuts[f"K{len(cuts)}"] = tuple(choices.randrange(10) for _ in range(6))
    opens = {f"Door {n}": choices.sample(sorted(cuts), 8) for n in range(DOORS)}
    return kit.job(1, cuts, opens)


def _next(
    state: Memory,
    last: Event,
    choices: random.Random,
    clock: kit.Clock,
    copies: list[int],
    persons: list[int],
) -> Event:
    copy = state.get(CopyRow, choices.choice(copies))
    assert copy is not None
    seq = last.seq + 1
    if copy.state == CopyState.IN.value:
        kind, party = EventKind.ISSUED, choices.choice(persons)
        date = (clock.now.date()).isoformat() if choices.random() < 0.02 else ""
        details: d.Details = d.Issued(due=date, issuer=kit.CLERK)
    else:
        kind, party = EventKind.RETURNED, copy.holder
        details = d.Returned(of=copy.issue)
    event = Event(
        seq=seq,
        at=stamp(clock()),
        kind=kind,
        who=kit.CLERK,
        why="",
        system=copy.system,
        subject=copy.id,
        party=party,
        name=copy.name,
        details=details,
        data=write_details(kind, details),
        flag="",
        prev=last.hash,
        hash="",
    )
    event = replace(event, hash=hash_of(stored(event)[: len(CHAINED)]))
    fold.apply(state, event)
    return event


def _verify(ledger: Ledger) -> Record:
    checked, seconds = timed(lambda: ledger.ask(verify))
    assert checked.findings == [], checked.findings[:3]
    print(f"verify: {checked.events} events in {seconds:.1f} s")
    return {"what": "verify", "events": checked.events, "seconds": seconds}


def _counter(ledger: Ledger) -> Iterator[Record]:
    """Issue and return of copies that are in, one transaction each, synchronous=FULL."""
    table = table_of(CopyRow)
    ins = ledger.ask(lambda v: v.rows(CopyRow, table.c.state == "in", limit=200))
    acts: list[tuple[str, Callable[[str], Outcome]]] = [
        (
            "issue",
            lambda stamp: ledger.do(
                partial(counter.issue, key=stamp, person="Person 7"), kit.CLERK
            ),
        ),
        ("return", lambda stamp: ledger.do(partial(counter.take_back, key=stamp), kit.CLERK)),
    ]
    for name, act in acts:
        times = []
        for copy in ins:
            start = time.perf_counter()
            outcome = act(f"#{copy.id}")
            times.append(time.perf_counter() - start)
            assert outcome.done
        times.sort()
        yield _said(name, times)


def _said(name: str, times: list[float]) -> Record:
    times = sorted(times)
    median, worst = times[len(times) // 2] * 1000, times[-1] * 1000
    print(f"{name:24} median {median:7.2f} ms, worst of {len(times)}: {worst:7.2f} ms")
    return {"what": name, "median_ms": median, "worst_ms": worst, "calls": len(times)}


def _questions(ledger: Ledger) -> Iterator[Record]:
    choices = random.Random(SEED)
    rows = ledger.ask(
        lambda v: (v.rows(CopyRow), v.rows(PersonRow), v.rows(SystemRow), v.rows(DoorRow))
    )
    copies, persons, systems, doors = rows
    owner = {row.id: row for row in systems}

    def any_copy() -> CopyRow:
        return choices.choice(copies)

    def any_person() -> PersonRow:
        return choices.choice(persons)

    def who(view: Reading) -> object:
        door = choices.choice(doors)
        return queries.who_can_open(view, owner[door.system], door.name)

    asked: dict[str, Callable[[Reading], object]] = {
        "who holds what": lambda v: queries.holds(v, any_person()),
        "who can open": who,
        "what a person can open": lambda v: queries.what_opens(v, any_person()),
        "search, begins": lambda v: queries.search(v, f"person {choices.randrange(5000)}"),
        "search, holds": lambda v: queries.search(v, f"erth {choices.randrange(200)}"),
        "search, nothing": lambda v: queries.search(v, "no such thing"),
        "history of a key": lambda v: queries.history(v, number=any_copy().id),
        "history of a person": lambda v: queries.history(v, number=any_person().id),
        "history of a symbol": lambda v: queries.history(
            v, system=any_copy().system, name=any_copy().name
        ),
        "latest events": queries.history,
        "register of a key": lambda v: register.of_copy(v, any_copy()),
        "register of a person": lambda v: register.of_person(v, any_person()),
        "overdue": lambda v: queries.out(v, late_only=True, limit=500),
        "left to do": lambda v: queries.to_do(v, choices.choice(systems)),
        "inventories due": due,
        "blanks": queries.blanks,
    }
    for name, question in asked.items():
        times = [timed(partial(ledger.ask, question))[1] for _ in range(CALLS)]
        yield _said(name, times)
    total = ledger.ask(
        lambda v: v.connection.execute(select(func.count()).select_from(events)).scalar()
    )
    print(f"({total} events)")


def _backup(ledger: Ledger, folder: Path) -> Record:
    _, seconds = timed(lambda: backup(ledger, folder / "backup.db"))
    size = (folder / "backup.db").stat().st_size
    print(f"backup, checked: {seconds:.1f} s, {size / 1e6:.0f} MB")
    return {"what": "backup", "seconds": seconds, "megabytes": size / 1e6}


def _alterations(quick: bool) -> Record:
    """Every field of every event of a chain of 1,000, altered one at a time."""
    rows = forge.thousand(kit.Clock())
    altered = named = alone = 0
    start = time.perf_counter()
    for number in range(1, len(rows) + 1, 50 if quick else 1):
        for column, chain in forge.alterations(rows, number):
            found = forge.check(chain, fold_too=False)
            altered += 1
            named += number in found
            alone += found == [number] or column == "seq"
    seconds = time.perf_counter() - start
    print(f"single-field alterations: {altered}, named {named}, nothing else {alone}")
    return {
        "what": "single-field alterations of 1,000 events",
        "altered": altered,
        "named": named,
        "alone": alone,
        "seconds": seconds,
    }
