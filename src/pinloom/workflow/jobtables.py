"""A job as the tables bittings.csv and pinning.csv, for people and for other programs.

Depth numbers in the format's reading order; the columns are a promise (docs/guide/jobs.md).
"""

import csv
import io
import re
from collections.abc import Iterable, Sequence

from pinloom.core.bitting import Bitting
from pinloom.core.hardware import HardwareFormat
from pinloom.core.job import ControlKey, Job
from pinloom.core.stacks import PerStack, PinStack

CONTROL = "control"
PINNING_HEADS = ("door", "chamber", "bottom", "masters", "buildup", "driver")

_UNPINNED = ("", "", "", "")
_FORMULA_SIGN = re.compile(r"^'*[=+\-@\t\r]")
_FIRST_SIGNS = frozenset("'=+-@\t\r")  # of a name that may be one


def control_name(control: ControlKey) -> str:
    """The name of a control key in files."""
    return f"{CONTROL}:{control.group}" if control.group else CONTROL


def bitting_heads(made: HardwareFormat) -> tuple[str, ...]:
    """The heads of bittings.csv for keys of a format."""
    return ("key", *(f"c{i + 1}" for i in range(made.chambers)), "stamped")


def bittings_csv(job: Job) -> bytes:
    """The table of cuts: every key in chart order, then the control keys."""
    made = job.key_format
    rows = [(key.name, levels) for key, levels in zip(job.chart.keys, job.bittings, strict=True)]
    rows += [(control_name(control), control.levels) for control in job.controls]
    return table_bytes(bitting_heads(made), (_bitting_row(made, name, cuts) for name, cuts in rows))


def pinning_csv(job: Job) -> bytes:
    """The table of pins: every chamber of every door in chart order."""

    cells = PerStack(lambda made, _, stack: _stack_cells(made, stack))

    def rows() -> Iterable[Sequence[str]]:
        for door, cylinder in enumerate(job.pinning):
            made = job.format_of(door)
            for chamber, stack in enumerate(cylinder.chambers):
                known = _UNPINNED if stack is None else cells.of(made, chamber, stack)
                yield (cylinder.door, str(chamber + 1), *known)

    return table_bytes(PINNING_HEADS, rows())


def _bitting_row(made: HardwareFormat, name: str, levels: Bitting) -> tuple[str, ...]:
    return (name, *(str(made.number_of(level)) for level in levels), made.stamp(levels))


def _stack_cells(made: HardwareFormat, stack: PinStack) -> tuple[str, str, str, str]:
    return (
        str(made.number_of(stack.bottom)),
        " ".join(map(str, stack.masters)),
        "" if stack.buildup is None else str(stack.buildup),
        stack.driver,
    )


def table_bytes(heads: Sequence[str], rows: Iterable[Sequence[str]]) -> bytes:
    """A table as CSV in UTF-8; the first column holds names."""
    text = io.StringIO(newline="")
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow(heads)
    writer.writerows(_marked(row) for row in rows)
    return text.getvalue().encode("utf-8")


def _marked(row: Sequence[str]) -> Sequence[str]:
    """A name that a spreadsheet would take for a formula gets the spreadsheet's text mark."""
    name = row[0]
    if name[:1] not in _FIRST_SIGNS or not _FORMULA_SIGN.match(name):
        return row
    return (f"'{name}", *row[1:])
