"""Pins found in a cylinder, read from a table or from one line of text; chambers may be unknown.

A line has one word a chamber, in the order in which the format is read:

- ``3+2`` - the pins as a job's list of changes has them: the depth number of the shallowest cut,
  then master pins in steps, bottom-up; a core's build-up pin after a stroke, ``3+2/12``;
- ``-`` - no pins; ``?`` - not known;
- measured, ``0.180+0.030+0.160`` - lengths bottom-up, the driver last.

A table has the columns of ``pinning.csv``; ``?`` under ``bottom`` or ``masters`` is a chamber that
is not known, like one without a row. A table of measured pins has the columns ``door``, ``chamber``
and ``lengths``, with words as above. No finding repeats a pin.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from pinloom.chart.files import read_book
from pinloom.chart.table import open_table
from pinloom.core.findings import Finding, Place, fault, has_fault
from pinloom.core.hardware import HardwareFormat
from pinloom.core.job import Job
from pinloom.core.lengths import InexactLengthError, Nanometres, from_inch, from_mm
from pinloom.core.names import clean
from pinloom.core.stacks import PinStack
from pinloom.pinning import read_pins
from pinloom.workflow.pinnings import UNKNOWN, Chambers, read_pinning

MEASURED_HEADS = ("door", "chamber", "lengths")
UNITS = {"inch": from_inch, "mm": from_mm}


@dataclass(frozen=True, slots=True, kw_only=True)
class Found:
    """Cylinders by the name they were given; a name that is no door of the job, and the empty one,
    stand for a cylinder of which nobody knows the door. Chambers count from 0.
    """

    cylinders: Mapping[str, Chambers]
    findings: tuple[Finding, ...] = ()


def from_table(path: Path, job: Job) -> Found:
    """The cylinders of a table."""
    formats = [job.format_of(door) for door in range(len(job.chart.doors))]
    read = read_pinning(path, job.chart, formats, stranger=job.key_format)
    return Found(cylinders=read.doors, findings=read.findings)


def from_lengths(path: Path, job: Job, unit: str) -> Found:
    """The cylinders of a table of measured pins. ``unit`` is a key of ``UNITS``."""
    book = read_book(path, lambda titles: titles[:1])
    findings = list(book.findings)
    if not book.sheets:
        return Found(cylinders={}, findings=tuple(findings))
    table = open_table(book.sheets[0], frozenset(MEASURED_HEADS))
    findings += table.findings
    missing = [head for head in MEASURED_HEADS if head not in table.known]
    if missing:
        findings += [fault("cuts-column-missing", table.head_place(), head=h) for h in missing]
        return Found(cylinders={}, findings=tuple(findings))
    index = job.chart.door_index()
    cylinders: dict[str, Chambers] = {}
    places: dict[tuple[str, int], Place] = {}
    for row in table.rows:
        name = clean(table.cell(row, "door") or "")
        made = job.format_of(index[name]) if name in index else job.key_format
        chamber = (_whole(table.cell(row, "chamber") or "") or 0) - 1
        place = table.place(row, "lengths")
        if not 0 <= chamber < made.chambers:
            findings.append(fault("pins-no-such-chamber", place, door=name, chambers=made.chambers))
            continue
        first = places.setdefault((name, chamber), place)
        if first is not place:
            number = chamber + 1
            findings.append(fault("pins-chamber-twice", place, first, door=name, chamber=number))
            continue
        word = "".join((table.cell(row, "lengths") or UNKNOWN).split())
        findings += _enter(cylinders.setdefault(name, {}), made, chamber, word, unit, place)
    return Found(cylinders=cylinders, findings=tuple(findings))


def _enter(
    chambers: Chambers, made: HardwareFormat, chamber: int, word: str, unit: str, place: Place
) -> list[Finding]:
    """Put one measured chamber where it belongs; what cannot be read is said with its place."""
    if word == UNKNOWN:
        return []
    if word == "-":
        chambers[chamber] = None
        return []
    if any(depth.bottom_pin is None for depth in made.depths):
        return [fault("found-no-lengths", place, format=made.name)]
    read = _measured(made, chamber, word, unit)
    if isinstance(read, PinStack):
        chambers[chamber] = read
        return []
    said = read or (fault("found-unreadable", chamber=chamber + 1),)
    return [replace(one, place=place) for one in said]


def from_text(text: str, name: str, made: HardwareFormat, unit: str = "") -> Found:
    """The one cylinder of a line of text. ``unit`` = of measured lengths, a key of ``UNITS``; empty
    where the pins are given by number.
    """
    words = text.replace(",", " ").replace(";", " ").split()
    if len(words) != made.chambers:
        found = fault("found-count", count=len(words), chambers=made.chambers, format=made.name)
        return Found(cylinders={}, findings=(found,))
    if unit and any(depth.bottom_pin is None for depth in made.depths):
        return Found(cylinders={}, findings=(fault("found-no-lengths", format=made.name),))
    chambers: Chambers = {}
    findings: list[Finding] = []
    for chamber, word in enumerate(words):
        if word == UNKNOWN:
            continue
        if word == "-":
            chambers[chamber] = None
            continue
        read = _measured(made, chamber, word, unit) if unit else _numbered(made, word)
        if isinstance(read, PinStack):
            chambers[chamber] = read
        else:
            findings += read or (fault("found-unreadable", chamber=chamber + 1),)
    if has_fault(findings):
        return Found(cylinders={}, findings=tuple(findings))
    return Found(cylinders={name: chambers}, findings=tuple(findings))


def _numbered(made: HardwareFormat, word: str) -> PinStack | Sequence[Finding]:
    pins, stroke, top = word.partition("/")
    numbers = [_whole(part) for part in pins.split("+")]
    buildup = _whole(top) if stroke else None
    whole = [number for number in numbers if number is not None]
    level = made.level_of(whole[0]) if len(whole) == len(numbers) else None
    if level is None or 0 in whole[1:] or (stroke and not buildup):
        return ()
    return PinStack(bottom=level, masters=tuple(whole[1:]), buildup=buildup)


def _measured(
    made: HardwareFormat, chamber: int, word: str, unit: str
) -> PinStack | Sequence[Finding]:
    lengths: list[Nanometres] = []
    for part in word.split("+"):
        try:
            lengths.append(UNITS[unit](part))
        except InexactLengthError:
            return ()
    if len(lengths) < 2:
        return (fault("found-needs-driver", chamber=chamber + 1),)
    read = read_pins(made, chamber, lengths)
    return read.findings if read.stack is None else read.stack


def _whole(text: str) -> int | None:
    return int(text) if text.isascii() and text.isdecimal() and len(text) < 6 else None
