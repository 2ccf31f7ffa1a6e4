"""The pins on hand, read from a table ``part,size,count`` (CSV or XLSX)."""

from dataclasses import dataclass
from pathlib import Path

from pinloom.chart.files import read_book
from pinloom.chart.raw import Row
from pinloom.chart.table import Table, open_table
from pinloom.core.bench import PartKind
from pinloom.core.findings import Finding, Place, caution, fault, has_fault, note
from pinloom.core.hardware import HardwareFormat
from pinloom.pinning import Kit, kind_named, size_named

HEADS = ("part", "size", "count")

_BAD = -1


@dataclass(frozen=True, slots=True, kw_only=True)
class KitRead:
    """A kit, or None with at least one fault."""

    kit: Kit | None
    findings: tuple[Finding, ...]


def read_kit(path: Path, made: HardwareFormat) -> KitRead:
    """The kit in a file, in the sizes of a format. A size that the format does not have is said and
    left out: a pin box serves several formats.
    """
    book = read_book(path, lambda titles: titles[:1])
    found = list(book.findings)
    counts: dict[tuple[PartKind, str], int | None] = {}
    places: dict[tuple[PartKind, str], Place] = {}
    if not book.sheets:
        return KitRead(kit=None, findings=tuple(found))
    table = open_table(book.sheets[0], frozenset(HEADS))
    found += table.findings
    missing = [head for head in HEADS if head not in table.known]
    found += [fault("kit-column-missing", table.head_place(), head=head) for head in missing]
    for row in () if missing else table.rows:
        held = _held(table, row, made, found)
        if held is None:
            continue
        (kind, size), count = held
        place = table.place(row, "size")
        if (kind, size) in places:
            first = places[kind, size]
            found.append(fault("kit-size-twice", place, first, part=kind.value, size=size or "-"))
            continue
        places[kind, size] = place
        counts[kind, size] = count
    kit = None if has_fault(found) else Kit.of(counts)
    return KitRead(kit=kit, findings=tuple(found))


def _held(
    table: Table, row: Row, made: HardwareFormat, found: list[Finding]
) -> tuple[tuple[PartKind, str], int | None] | None:
    part, size, count = (table.cell(row, head) or "" for head in HEADS)
    kind = kind_named(part)
    if kind is None:
        found.append(fault("kit-part-unknown", table.place(row, "part"), part=part or "(none)"))
    held = _count(count)
    if held == _BAD:
        found.append(fault("kit-bad-count", table.place(row, "count"), count=count))
    if kind is None or held == _BAD:
        return None
    named = size_named(made, kind, size)
    if named is None:
        found.append(
            caution(
                "kit-size-unknown",
                table.place(row, "size"),
                part=kind.value,
                size=size or "(none)",
                format=made.name,
            )
        )
        return None
    return (kind, named), held


def _count(text: str) -> int | None:
    """A whole number, None for plenty, ``_BAD`` for anything else."""
    text = text.strip()
    if not text:
        return None
    return int(text) if text.isascii() and text.isdecimal() and len(text) < 9 else _BAD


def unmentioned(kit: Kit, made: HardwareFormat, path: Path) -> tuple[Finding, ...]:
    """A note of the kinds of part that a job needs and the kit does not speak of."""
    needed = {PartKind.BOTTOM, PartKind.MASTER, PartKind.DRIVER, PartKind.SPRING}
    needed |= {PartKind.BUILDUP} if made.core else set()
    absent = [kind.value for kind in PartKind if kind in needed - kit.kinds()]
    if not absent:
        return ()
    return (note("kit-kinds-absent", Place(file=path.name), parts=", ".join(absent)),)
