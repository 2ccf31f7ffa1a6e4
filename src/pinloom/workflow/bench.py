"""A proved job for the bench: what to cut, what to lay out and in which order, what is short."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from pinloom.core.bench import KeyCutting, PartCount, Tray
from pinloom.core.chart import KeyStanding
from pinloom.core.findings import Finding, Place, fault, has_fault
from pinloom.core.hardware import HardwareFormat
from pinloom.core.job import Job
from pinloom.core.lengths import in_inch, in_mm
from pinloom.pinning import (
    Short,
    handled,
    key_cutting,
    keyed_alike,
    near_macs,
    parts,
    short_of,
    top_master_advice,
    trays,
)
from pinloom.workflow.design import bench_remarks
from pinloom.workflow.folder import load
from pinloom.workflow.jobtables import table_bytes
from pinloom.workflow.kit import read_kit, unmentioned
from pinloom.workflow.store import write_private

CUTTING, TRAYS, LAYOUT, PARTS = "cutting.csv", "trays.csv", "tray-parts.csv", "parts.csv"


@dataclass(frozen=True, slots=True, kw_only=True)
class BenchOrder:
    """Which job, the pins on hand, how many cylinders a tray holds, where to write the tables."""

    folder: Path
    tray: int
    kit: Path | None = None
    out: Path | None = None
    passphrase: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class BenchResult:
    """``job`` is None where the folder cannot be read or is not proved. ``handled`` = pin sizes
    taken up or put away from cylinder to cylinder in this order, ``unordered`` in the chart's.
    ``short`` is None without a kit.
    """

    job: Job | None
    trays: tuple[Tray, ...] = ()
    cutting: tuple[KeyCutting, ...] = ()
    parts: tuple[PartCount, ...] = ()
    handled: int = 0
    unordered: int = 0
    short: tuple[Short, ...] | None = None
    files: tuple[str, ...] = ()
    findings: tuple[Finding, ...] = ()


def bench(order: BenchOrder) -> BenchResult:
    """Read, prove again, put in order, write the tables."""
    loaded = load(order.folder, order.passphrase)
    found = list(loaded.findings)
    job = loaded.job
    if job is not None and not job.proof.proved:
        found.append(fault("bench-not-proved", Place(file=str(order.folder))))
    if job is None or has_fault(found):
        return BenchResult(job=None, findings=tuple(found))
    formats = formats_of(job)
    needed = parts(job.chart, formats, job.pinning)
    short = None
    if order.kit is not None:
        read = read_kit(order.kit, job.key_format)
        found += read.findings
        if read.kit is None:
            return BenchResult(job=None, findings=tuple(found))
        found += unmentioned(read.kit, job.key_format, order.kit)
        short = short_of(read.kit, needed)
    # A retired key is lost or taken back, a reserved one opens nothing yet: neither is cut now.
    idle = {key.name for key in job.chart.keys if key.standing is not KeyStanding.ACTIVE}
    every = key_cutting(job.chart, job.key_format, formats, job.bittings, job.controls)
    cutting = tuple(one for one in every if one.key not in idle)
    filled = trays(job.chart, formats, job.pinning, size=order.tray)
    index = job.chart.door_index()
    sequence = [index[door] for tray in filled for door in dict.fromkeys(tray.doors)]
    result = BenchResult(
        job=job,
        trays=filled,
        cutting=cutting,
        parts=needed,
        handled=handled(formats, job.pinning, sequence),
        unordered=handled(formats, job.pinning, range(len(formats))),
        short=short,
        findings=(*found, *_remarks(job, cutting)),
    )
    return result if order.out is None else _written(result, order.out)


def formats_of(job: Job) -> list[HardwareFormat]:
    """The format of every cylinder, in chart order."""
    return [job.format_of(door) for door in range(len(job.chart.doors))]


def _remarks(job: Job, cutting: Sequence[KeyCutting]) -> Iterator[Finding]:
    yield from bench_remarks(job)
    yield from keyed_alike(job.chart)
    yield from near_macs(job.key_format, cutting)
    opened = [len(doors) for doors in job.chart.doors_of()]
    if opened and max(opened) > 1:
        widest = opened.index(max(opened))
        master, name = job.bittings[widest], job.chart.keys[widest].name
        moved = [p for p, cut in enumerate(master) if any(b[p] != cut for b in job.bittings)]
        yield from top_master_advice(job.key_format, name, master, moved)


# --- tables ---------------------------------------------------------------------------------------


def _written(result: BenchResult, folder: Path) -> BenchResult:
    """The tables, readable by their owner alone."""
    tables = {
        CUTTING: table_bytes(_CUTTING_HEADS, _cutting_rows(result.cutting)),
        TRAYS: table_bytes(("door", "tray", "place"), _tray_rows(result.trays)),
        LAYOUT: table_bytes(("tray", *_PART_HEADS), _layout_rows(result.trays)),
        PARTS: table_bytes(_PART_HEADS, map(_part_row, result.parts)),
    }
    written: list[str] = []
    found = list(result.findings)
    try:
        folder.mkdir(mode=0o700, parents=True, exist_ok=True)
        for name, data in tables.items():
            write_private(folder / name, data)
            written.append(name)
    except OSError as error:
        reason = error.strerror or type(error).__name__
        found.append(fault("bench-unwritable", Place(file=str(folder)), reason=reason))
    return replace(result, files=tuple(written), findings=tuple(found))


_PART_HEADS = ("part", "size", "count", "inch", "mm")
_CUTTING_HEADS = ("key", "blank", "copies", "order", "cut", "stamped") + (
    "from stop in",
    "from stop mm",
    "root in",
    "root mm",
)


def _part_row(line: PartCount) -> tuple[str, ...]:
    part = line.part
    return (part.kind.value, part.size, str(line.count), part.inch(), part.mm())


def _cutting_rows(cutting: Iterable[KeyCutting]) -> Iterator[tuple[str, ...]]:
    for one in cutting:
        for number, cut in enumerate(one.cuts, start=1):
            yield (
                one.key,
                one.blank,
                "" if one.copies is None else str(one.copies),
                str(number),
                str(cut.position),
                cut.stamped,
                in_inch(cut.distance),
                in_mm(cut.distance),
                in_inch(cut.root),
                in_mm(cut.root),
            )


def _tray_rows(filled: Iterable[Tray]) -> Iterator[tuple[str, ...]]:
    for number, tray in enumerate(filled, start=1):
        for place, door in enumerate(tray.doors, start=1):
            yield (door, str(number), str(place))


def _layout_rows(filled: Iterable[Tray]) -> Iterator[tuple[str, ...]]:
    for number, tray in enumerate(filled, start=1):
        for line in tray.parts:
            yield (str(number), *_part_row(line))
