"""Pins found in a cylinder, read from a table or from one line of text; chambers may be unknown.

A line has one word a chamber, in the order in which the format is read:

- ``3+2`` - the pins as a job's list of changes has them: the depth number of the shallowest cut,
  then master pins in steps, bottom-up; a core's build-up pin after a stroke, ``3+2/12``;
- ``-`` - no pins; ``?`` - not known;
- measured, ``0.180+0.030+0.160`` - lengths bottom-up, the driver last.

A table has the columns of ``pinning.csv``; ``?`` under ``bottom`` or ``masters`` is a chamber that
is not known, like one without a row. No finding repeats a pin.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from pinloom.core.findings import Finding, fault, has_fault
from pinloom.core.hardware import HardwareFormat
from pinloom.core.job import Job
from pinloom.core.lengths import InexactLengthError, Nanometres, from_inch, from_mm
from pinloom.core.stacks import PinStack
from pinloom.pinning import read_pins
from pinloom.workflow.pinnings import Chambers, read_pinning

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
        if word == "?":
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
