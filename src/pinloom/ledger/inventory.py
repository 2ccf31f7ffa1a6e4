"""Counting keys and cylinders against the books.

Keys and locks are inventoried twice a year (key control practice, US Army subcourses MP1001 and
MM0170). What was seen is a list; the differences from the books are kept in the chain, and setting
them right (lost, found, destroyed, placed) is a decision of its own, so nothing is changed here.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import timedelta
from enum import Enum
from pathlib import Path

from pinloom.core.findings import Finding, caution, fault, note
from pinloom.ledger import details as d
from pinloom.ledger import lookup
from pinloom.ledger.events import EventKind
from pinloom.ledger.rows import CopyRow, CopyState, CylinderRow, PersonRow, SystemRow
from pinloom.ledger.tabular import read_tables
from pinloom.ledger.view import Reading, Writing, table_of, tidy, unstamp

#: twice a year
EVERY = timedelta(days=183)
CABINET = "cabinet"


class SeenKind(Enum):
    """What a line of a count is about."""

    KEY = "key"
    CYLINDER = "cylinder"


@dataclass(frozen=True, slots=True, kw_only=True)
class Seen:
    """One thing seen. ``where`` = holder, door or place; empty or ``cabinet`` = in the cabinet."""

    what: SeenKind
    mark: str
    where: str = ""


class DifferenceKind(Enum):
    """How a count and the books can differ."""

    MISSING = "missing"  # the books have it here; nobody saw it
    NOT_SHOWN = "not shown"  # the books have it with a holder, who did not show it
    ELSEWHERE = "elsewhere"  # seen, at another place or with another holder
    SHOULD_NOT_BE = "should not be"  # seen, though lost or destroyed by the books
    UNKNOWN = "unknown"  # seen, not in the books
    TWICE = "twice"  # seen more than once


def take(tx: Writing, system: str, seen: Sequence[Seen], why: str = "") -> list[Finding]:
    """Record a count of a system with its differences from the books."""
    owner = lookup.system(tx, system)
    if isinstance(owner, Finding):
        return [owner]
    differences = compare(tx, owner, seen)
    keys = sum(one.what is SeenKind.KEY for one in seen)
    details = d.Inventoried(keys=keys, cylinders=len(seen) - keys, differences=tuple(differences))
    tx.append(EventKind.INVENTORIED, details, system=owner.id, why=why)
    if not differences:
        return [note("ledger-inventory-agrees", system=owner.name, things=len(seen))]
    return [caution("ledger-inventory-differs", system=owner.name, differences=len(differences))]


def compare(view: Reading, owner: SystemRow, seen: Iterable[Seen]) -> list[d.Difference]:
    """Every difference between what was seen and the books, keys first, in order of marks."""
    lines = {kind: [one for one in seen if one.what is kind] for kind in SeenKind}
    keys = {
        copy.stamp: (_books_of_copy(view, copy), CopyState(copy.state))
        for copy in view.rows(CopyRow, table_of(CopyRow).c.system == owner.id)
    }
    cylinders = {
        row.mark: (row.door or row.place, CopyState.IN)
        for row in view.rows(CylinderRow, table_of(CylinderRow).c.system == owner.id)
    }
    found: list[d.Difference] = []
    for kind, books in ((SeenKind.KEY, keys), (SeenKind.CYLINDER, cylinders)):
        found += _compared(kind, books, lines[kind])
    return found


def _books_of_copy(view: Reading, copy: CopyRow) -> str:
    if copy.state != CopyState.OUT.value:
        return CABINET if copy.state == CopyState.IN.value else copy.state
    holder = view.get(PersonRow, copy.holder)
    return holder.name if holder else ""


def _compared(
    kind: SeenKind, books: dict[str, tuple[str, CopyState]], lines: list[Seen]
) -> list[d.Difference]:
    found: list[d.Difference] = []
    marks: set[str] = set()

    def differs(what: DifferenceKind, mark: str, place: str, where: str) -> None:
        text = f"{kind.value} {mark}"
        found.append(d.Difference(what=what.value, mark=text, books=place, seen=where))

    for line in lines:
        mark, where = tidy(line.mark), tidy(line.where) or CABINET
        place, state = books.get(mark, ("", CopyState.IN))
        if mark in marks:
            differs(DifferenceKind.TWICE, mark, place, where)
        elif mark not in books:
            differs(DifferenceKind.UNKNOWN, mark, "", where)
        elif state in (CopyState.LOST, CopyState.DESTROYED):
            differs(DifferenceKind.SHOULD_NOT_BE, mark, place, where)
        elif where.casefold() != place.casefold():
            differs(DifferenceKind.ELSEWHERE, mark, place, where)
        marks.add(mark)
    for mark, (place, state) in books.items():
        if mark not in marks and state in (CopyState.IN, CopyState.OUT):
            out = state is CopyState.OUT
            what = DifferenceKind.NOT_SHOWN if out else DifferenceKind.MISSING
            differs(what, mark, place, "")
    return sorted(found, key=lambda one: (one.what, one.mark))


def read_seen(path: Path) -> tuple[list[Seen], list[Finding]]:
    """The lines of a count from a file with the columns what, mark and, if need be, where."""
    sheets, said = read_tables(path)
    seen: list[Seen] = []
    if not sheets and not said:
        said.append(fault("ledger-list-empty"))
    for sheet in sheets[:1]:
        lacking = [name for name in ("what", "mark") if name not in sheet.columns]
        said += [
            fault("ledger-list-column-missing", sheet.place, column=name, kind="inventory")
            for name in lacking
        ]
        for line in sheet.lines if not lacking else ():
            what, mark = line.cells["what"].casefold(), line.cells["mark"]
            if what not in {kind.value for kind in SeenKind}:
                said.append(fault("ledger-list-not-a-thing", line.at("what"), text=what))
            elif not mark:
                said.append(fault("ledger-list-cell-empty", line.at("mark"), column="mark"))
            else:
                where = line.cells.get("where", "")
                seen.append(Seen(what=SeenKind(what), mark=mark, where=where))
    return seen, said


@dataclass(frozen=True, slots=True, kw_only=True)
class Due:
    """A system whose keys should be counted. ``last`` = date of the last count, or empty."""

    system: SystemRow
    last: str


def due(view: Reading) -> list[Due]:
    """The systems not counted within the last half year, those never counted first."""
    found = []
    for row in view.rows(SystemRow):
        late = not row.inventoried or view.now - unstamp(row.inventoried) > EVERY
        if late:
            found.append(Due(system=row, last=row.inventoried[:10]))
    return sorted(found, key=lambda one: (one.last, one.system.id))
