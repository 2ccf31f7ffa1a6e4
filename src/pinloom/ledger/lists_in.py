"""A shop's lists come in: every fault of every row at once, and nothing of them unless all is well.

The lists are taken in the order of ``ListKind``, so that a row may speak of what another list
brings. Keys that exist already are *registered*, not cut: they may be out, and come back; issuing
them again needs an approved revision like any other key.
"""

import hashlib
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, field, replace
from datetime import UTC, datetime
from pathlib import Path

from pinloom.core.findings import Finding, Place, caution, fault, has_fault, note
from pinloom.ledger import cylinders, lookup, people, stock
from pinloom.ledger import details as d
from pinloom.ledger.events import EventKind
from pinloom.ledger.lists import COLUMNS, ListKind
from pinloom.ledger.rows import (
    BlankRow,
    CopyRow,
    CopyState,
    CylinderRow,
    KeyRow,
    PersonRow,
    RevisionRow,
    SiteRow,
    SystemRow,
)
from pinloom.ledger.tabular import Line, Sheet, read_tables
from pinloom.ledger.telling import reads_as_cuts
from pinloom.ledger.view import Writing, stamp, table_of, tidy

_YES = ("yes", "y", "x", "true", "1")
_NO = ("", "no", "n", "false", "0")
FROM_LIST = "taken over from a list"


@dataclass(frozen=True, slots=True, kw_only=True)
class ShopLists:
    """The tables of some files, recognised. ``files`` = name and SHA-256 of each."""

    tables: tuple[tuple[ListKind, Sheet], ...]
    files: tuple[tuple[str, str], ...]


def read_lists(paths: Sequence[Path]) -> tuple[ShopLists, list[Finding]]:
    """Read and recognise every table of the files; nothing is judged against the ledger yet."""
    tables: list[tuple[ListKind, Sheet]] = []
    findings: list[Finding] = []
    files: list[tuple[str, str]] = []
    for path in paths:
        sheets, said = read_tables(path)
        findings += said
        if path.is_file():
            files.append((path.name, hashlib.sha256(path.read_bytes()).hexdigest()))
        for sheet in sheets:
            kind = _kind(sheet)
            if kind is None:
                known = ", ".join(one.value for one in ListKind)
                findings.append(fault("ledger-list-unknown", sheet.place, known=known))
                continue
            findings += _columns(kind, sheet)
            tables.append((kind, sheet))
    if not tables and not has_fault(findings):
        findings.append(fault("ledger-list-empty"))
    order = list(ListKind)
    tables.sort(key=lambda one: order.index(one[0]))
    return ShopLists(tables=tuple(tables), files=tuple(files)), findings


def _kind(sheet: Sheet) -> ListKind | None:
    return next((kind for kind in ListKind if kind.value == sheet.name), None)


def _columns(kind: ListKind, sheet: Sheet) -> list[Finding]:
    known = COLUMNS[kind]
    found = [
        fault("ledger-list-column-missing", sheet.place, column=name, kind=kind.value)
        for name in known.needed
        if name not in sheet.columns
    ]
    for name in sheet.columns:
        if name not in known.all():
            where = replace(sheet.place, column=name)
            found.append(caution("ledger-list-column-unknown", where, kind=kind.value))
    return found


@dataclass(slots=True)
class _In:
    tx: Writing
    said: list[Finding] = field(default_factory=list)
    labels: dict[str, int] = field(default_factory=dict)  # person's label -> number
    first: dict[tuple[str, ...], Place] = field(default_factory=dict)

    def say(self, line: Line, findings: Iterable[Finding], column: str = "") -> bool:
        """Keep findings with their place; whether there was no fault among them."""
        found = [replace(one, place=line.at(column)) for one in findings]
        self.said += found
        return not has_fault(found)

    def once(self, line: Line, column: str, *name: str) -> bool:
        """Whether a name occurs for the first time; says so if not."""
        if name in self.first:
            again = fault("ledger-list-row-twice", line.at(column), self.first[name], name=name[-1])
            self.said.append(again)
            return False
        self.first[name] = line.at(column)
        return True

    def person(self, line: Line, column: str) -> PersonRow | None:
        """The person a label means: one of the people's list, or one the ledger knows."""
        label = line.cells.get(column, "")
        if label.casefold() in self.labels:
            return self.tx.get(PersonRow, self.labels[label.casefold()])
        found = lookup.person(self.tx, label)
        if isinstance(found, Finding):
            self.say(line, [found], column)
            return None
        return found


def bring_in(tx: Writing, lists: ShopLists) -> list[Finding]:
    """Record everything in the lists."""
    work = _In(tx)
    for name, sha256 in lists.files:
        rows = sum(len(s.lines) for _, s in lists.tables if s.place.file == name)
        tx.append(EventKind.LIST, d.ListImported(file=tidy(name), sha256=sha256, rows=rows))
    for kind, sheet in lists.tables:
        if any(name not in sheet.columns for name in COLUMNS[kind].needed):
            continue
        for line in sheet.lines:
            if _complete(work, kind, line):
                _ROWS[kind](work, line)
    return work.said


def _complete(work: _In, kind: ListKind, line: Line) -> bool:
    empty = [name for name in COLUMNS[kind].needed if not line.cells.get(name)]
    work.said += [fault("ledger-list-cell-empty", line.at(name), column=name) for name in empty]
    return not empty


def _site(work: _In, line: Line) -> None:
    site, building = line.cells["site"], line.cells.get("building", "")
    if not work.once(line, "site", "site", site.casefold(), building.casefold()):
        return
    if not work.tx.rows(SiteRow, table_of(SiteRow).c.name == site):
        work.say(line, people.add_site(work.tx, site), "site")
    if building:
        work.say(line, people.add_building(work.tx, site, building), "building")


def _person(work: _In, line: Line) -> None:
    label = line.cells["person"]
    if not work.once(line, "person", "person", label.casefold()):
        return
    cells = line.cells
    name = cells.get("name", "") or label
    namesake = bool(cells.get("name")) and cells["name"] != label
    before = len(work.tx.recorded)
    said = people.add_person(
        work.tx,
        name,
        cells.get("organisation", ""),
        cells.get("contact", ""),
        cells.get("note", ""),
        namesake=namesake,
    )
    if work.say(line, (one for one in said if one.severity.value != "note"), "person"):
        work.labels[label.casefold()] = work.tx.recorded[before].seq


def _signatory(work: _In, line: Line) -> None:
    person = work.person(line, "person")
    if person is None:
        return
    cells = line.cells
    said = people.add_signatory(
        work.tx, cells["site"], f"#{person.id}", cells["authority"], cells.get("until", "")
    )
    work.say(line, said)


def _blank(work: _In, line: Line) -> None:
    name, restricted = line.cells["blank"], line.cells.get("restricted", "").casefold()
    if not work.once(line, "blank", "blank", name.casefold()):
        return
    if restricted not in _YES + _NO:
        work.say(line, [fault("ledger-list-not-yes", text=restricted)], "restricted")
        return
    left = _whole(work, line, "left")
    row = work.tx.get(BlankRow, name)
    if row is not None and row.received + row.cut + row.spoiled + abs(row.adjusted):
        work.say(line, [fault("ledger-known-already", what="blank", name=name)], "blank")
        return
    wanted = restricted in _YES
    if row is None or row.restricted != wanted:
        said = stock.keep_blank(work.tx, name, restricted=wanted)
        if not work.say(line, said, "blank"):
            return
    if left:
        work.say(line, stock.receive(work.tx, name, left, FROM_LIST), "left")


def _system(work: _In, line: Line) -> SystemRow | None:
    """The system a row names; it begins with the first row that names it."""
    site = lookup.site(work.tx, line.cells["site"])
    if isinstance(site, Finding):
        work.say(line, [site], "site")
        return None
    table = table_of(SystemRow)
    mine = (table.c.site == site.id, table.c.name == line.cells["system"])
    rows = work.tx.rows(SystemRow, *mine)
    if not rows:
        details = d.System(site=site.id)
        work.tx.append(EventKind.SYSTEM, details, subject=0, name=line.cells["system"])
        rows = work.tx.rows(SystemRow, *mine)
    return rows[0]


def _key(work: _In, line: Line) -> None:
    cells, owner = line.cells, _system(work, line)
    if owner is None:
        return
    once = work.once(line, "stamp", "stamp", str(owner.id), cells["stamp"])
    details, state = _copy(work, line, owner), _state(work, line)
    holder = work.person(line, "holder") if cells.get("holder") else None
    out_at, due = _time(work, line, "out"), cells.get("due", "")
    good = work.say(line, people.bad_date(due), "due")
    if state is CopyState.OUT and not cells.get("holder"):
        good = work.say(line, [fault("ledger-list-no-holder")], "holder")
    if state is CopyState.IN and cells.get("holder"):
        good = work.say(line, [fault("ledger-list-holder-of-in")], "holder")
    if not good or not once or details is None or state is None or out_at is None:
        return
    event = work.tx.append(
        EventKind.REGISTERED, details, system=owner.id, subject=0, name=cells["key"]
    )
    about = {"system": owner.id, "subject": event.seq}
    if holder is not None and state is not CopyState.IN:
        issued = d.Issued(
            due=due,
            issuer=cells.get("issuer", ""),
            issuer_signature=cells.get("issuer signature", ""),
            receiver_signature=cells.get("receiver signature", ""),
            out_at=out_at or stamp(work.tx.now),
        )
        work.tx.append(
            EventKind.ISSUED, issued, **about, party=holder.id, name=cells["key"], why=FROM_LIST
        )
    if state is CopyState.LOST:
        work.tx.append(EventKind.LOST, d.Lost(), **about, name=cells["key"], why=FROM_LIST)
    if state is CopyState.DESTROYED:
        gone = d.Destroyed()
        work.tx.append(EventKind.DESTROYED, gone, **about, name=cells["key"], why=FROM_LIST)


def _copy(work: _In, line: Line, owner: SystemRow) -> d.Cut | None:
    cells, mark = line.cells, line.cells["stamp"]
    revision = work.tx.get(RevisionRow, owner.id, owner.latest)
    key = work.tx.get(KeyRow, owner.id, owner.latest, cells["key"])
    said: list[Finding] = []
    if revision is not None and key is None:
        where = f" in {owner.name}"
        said.append(fault("ledger-unknown", what="key", name=cells["key"], where=where))
    if revision is not None and reads_as_cuts(mark, revision.chambers, revision.texts):
        said.append(fault("ledger-stamp-shows-cuts", number=line.place.row))
    table = table_of(CopyRow)
    if work.tx.rows(CopyRow, table.c.system == owner.id, table.c.stamp == mark, limit=1):
        said.append(fault("ledger-stamp-taken", stamp=mark))
    number, combination = _whole(work, line, "copy"), _whole(work, line, "combination")
    if not work.say(line, said, "stamp") or number is None or combination is None:
        return None
    mine = work.tx.rows(CopyRow, table.c.system == owner.id, table.c.name == cells["key"])
    return d.Cut(
        number=number or 1 + max((one.number for one in mine), default=0),
        stamp=mark,
        combination=combination or (key.combination if key else 1),
        blank=cells.get("blank", ""),
    )


def _state(work: _In, line: Line) -> CopyState | None:
    text = line.cells.get("state", "").casefold()
    if not text:
        return CopyState.OUT if line.cells.get("holder") else CopyState.IN
    for state in CopyState:
        if state.value == text:
            return state
    known = ", ".join(state.value for state in CopyState)
    work.say(line, [fault("ledger-list-not-a-state", text=text, known=known)], "state")
    return None


def _time(work: _In, line: Line, column: str) -> str | None:
    """A stamp of a date or a time; empty for an empty cell, None (said) for anything else."""
    text = line.cells.get(column, "")
    if not text:
        return ""
    try:
        when = datetime.fromisoformat(text)
    except ValueError:
        work.say(line, [fault("ledger-bad-date", text=text)], column)
        return None
    zone = when.tzinfo or (UTC if len(text) == len("2026-03-02") else work.tx.now.tzinfo)
    return stamp(when.replace(tzinfo=zone))


def _whole(work: _In, line: Line, column: str) -> int | None:
    """A whole number; 0 for an empty cell, None (said) for anything else."""
    text = line.cells.get(column, "")
    if not text:
        return 0
    if text.isdecimal() and len(text) < 10:
        return int(text)
    work.say(line, [fault("ledger-not-a-count", pieces=text)], column)
    return None


def _door(work: _In, line: Line) -> None:
    owner = _system(work, line)
    if owner is not None:
        said = people.place_doors(
            work.tx, f"#{owner.id}", [line.cells["door"]], line.cells["building"]
        )
        work.say(line, said, "door")


def _cylinder(work: _In, line: Line) -> None:
    owner = _system(work, line)
    if owner is None:
        return
    cells = line.cells
    door, place = cells.get("door", ""), cells.get("place", "")
    table = table_of(CylinderRow)
    known = work.tx.rows(
        CylinderRow, table.c.system == owner.id, table.c.mark == cells["cylinder"], limit=1
    )
    if known:
        taken = fault("ledger-known-already", what="cylinder", name=cells["cylinder"])
        work.say(line, [taken], "cylinder")
        return
    if bool(door) == bool(place):
        work.say(line, [fault("ledger-one-place")], "place")
        return
    mark, system = cells["cylinder"], f"#{owner.id}"
    said = cylinders.pin(
        work.tx, system, cells["pinned for"], mark=mark, place=place, why=FROM_LIST
    )
    if work.say(line, said) and door and door != cells["pinned for"]:
        work.say(line, cylinders.place(work.tx, system, mark, door=door, why=FROM_LIST))


_ROWS: dict[ListKind, Callable[[_In, Line], None]] = {
    ListKind.SITES: _site,
    ListKind.PEOPLE: _person,
    ListKind.SIGNATORIES: _signatory,
    ListKind.BLANKS: _blank,
    ListKind.KEYS: _key,
    ListKind.DOORS: _door,
    ListKind.CYLINDERS: _cylinder,
}


def summary(lists: ShopLists) -> list[Finding]:
    """What was found in the files, one note a list."""
    return [
        note("ledger-list-read", sheet.place, kind=kind.value, rows=len(sheet.lines))
        for kind, sheet in lists.tables
    ]
