"""Chains without a database, and every way of altering one field of one event."""

from pinloom.ledger import details as d
from pinloom.ledger import verify
from pinloom.ledger.events import CHAINED, NO_HASH, EventKind, Stored, hash_of, write_details
from pinloom.ledger.view import stamp
from tests.ledger.kit import Clock

COLUMNS = (*CHAINED, "hash")


def thousand(clock: Clock, length: int = 1000) -> list[Stored]:
    """A chain: a site, a person, a system, a copy, then issues and returns."""
    rows: list[Stored] = []
    row_of = _Maker(clock, rows)
    row_of.add(EventKind.OPENED, d.Opened(box="b" * 64))
    site = row_of.add(EventKind.SITE, d.Site(), subject=0, name="Alder Quay")
    person = row_of.add(EventKind.PERSON, d.Person(), subject=0, name="Sailmaker")
    system = row_of.add(EventKind.SYSTEM, d.System(site=site), subject=0, name="Quay")
    copy = row_of.add(
        EventKind.REGISTERED,
        d.Cut(number=1, stamp="AA1-1", combination=1),
        system=system,
        subject=0,
        name="AA1",
    )
    about = {"system": system, "subject": copy, "name": "AA1", "party": person}
    while len(rows) < length:
        clock.forward(minutes=7)
        issued = row_of.add(EventKind.ISSUED, d.Issued(out_at=stamp(clock())), **about)
        if len(rows) < length:
            row_of.add(EventKind.RETURNED, d.Returned(of=issued), **about)
    return rows


class _Maker:
    def __init__(self, clock: Clock, rows: list[Stored]) -> None:
        self.clock, self.rows = clock, rows

    def add(self, kind: EventKind, details: d.Details, **about: object) -> int:
        """Chain one more row; its number."""
        seq = len(self.rows) + 1
        system = seq if kind is EventKind.SYSTEM else about.get("system")
        subject = seq if about.get("subject") == 0 else about.get("subject")
        row = (
            *(seq, stamp(self.clock()), kind.value, "clerk", "why", system, subject),
            *(about.get("party"), about.get("name", ""), write_details(kind, details), ""),
            self.rows[-1][12] if self.rows else NO_HASH,
        )
        self.rows.append((*row, hash_of(row)))  # type: ignore[arg-type]
        return seq


def alterations(rows: list[Stored], number: int) -> list[tuple[str, list[Stored]]]:
    """The chain with one field of one event altered, once a field, in the order of numbers."""
    found: list[tuple[str, list[Stored]]] = []
    row = rows[number - 1]
    for index, column in enumerate(COLUMNS):
        old = row[index]
        new: object
        if column == "seq":
            new = len(rows) + 50
        elif column in ("system", "subject", "party"):
            new = (old if isinstance(old, int) else 0) + 1
        elif column in ("prev", "hash"):
            new = ("1" if str(old)[0] == "0" else "0") + str(old)[1:]
        elif column == "at":
            new = str(old)[:-2] + ("1Z" if str(old)[-2] != "1" else "2Z")
        else:
            new = f"{old}x"
        changed: Stored = (*row[:index], new, *row[index + 1 :])  # type: ignore[assignment]
        altered = [*rows[: number - 1], changed, *rows[number:]]
        found.append((column, sorted(altered, key=lambda one: one[0])))
    return found


def check(rows: list[Stored], *, fold_too: bool = True) -> list[int]:
    """The numbers that a check of the chain names, as ``verify`` does it."""
    walk = verify._Walk(checked=verify.Checked(), foldable=fold_too)
    for _ in verify.chain(rows, walk):
        pass
    named = [dict(one.values) for one in walk.checked.findings]
    numbers = [int(v["seq"]) for v in named if "seq" in v] + list(walk.doubtful)
    for run in named:
        if "first_seq" in run:
            numbers += range(int(run["first_seq"]), int(run["last_seq"]) + 1)
    return sorted(set(numbers))
