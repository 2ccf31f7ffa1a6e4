"""The example job: Alder Quay, a boatyard with sail lofts. Its chart ships with the program."""

import os
from collections.abc import Callable
from dataclasses import dataclass
from importlib.resources import as_file, files
from pathlib import Path

from pinloom.core.findings import Finding, Place, fault
from pinloom.workflow.design import DesignOrder, DesignResult, design_job
from pinloom.workflow.inputs import ChartSource

NAME = "Alder Quay"
FORMAT = "us-6x10-014a"  # every number of it is published
FOLDER = "alder-quay"
DOORS, KEYS = "alder-quay-doors.csv", "alder-quay-keys.csv"

FILE_MODE = 0o600  # a chart is as confidential as the job: it says which door is worth a key

# Enough for a good design in seconds; the command itself searches longer.
BUDGET = 1_000


@dataclass(frozen=True, slots=True, kw_only=True)
class Demo:
    """The design, and where the chart and the job were put."""

    result: DesignResult
    doors: Path
    keys: Path
    folder: Path


def demo(out: Path, progress: Callable[[str], None] | None = None) -> Demo:
    """Put the chart into ``out`` (where it is not there already) and design it beside."""
    doors, keys, folder = out / DOORS, out / KEYS, out / FOLDER
    failed = _copy(out)
    with as_file(files("pinloom.workflow") / "alder_quay") as chart:
        order = DesignOrder(
            chart=ChartSource(path=chart / "doors.csv", keys=chart / "keys.csv"),
            hardware=FORMAT,
            out=folder,
            name=NAME,
            budget=BUDGET,
        )
        result = (
            DesignResult(chart=None, outcome=None, job=None, saved=None, findings=failed)
            if failed
            else design_job(order, progress)
        )
    return Demo(result=result, doors=doors, keys=keys, folder=folder)


def _copy(out: Path) -> tuple[Finding, ...]:
    """Copies of the chart for a person to edit; one that was edited already stays."""
    try:
        out.mkdir(parents=True, exist_ok=True)
        for name, inside in ((DOORS, "doors.csv"), (KEYS, "keys.csv")):
            if not (out / name).exists():
                data = (files("pinloom.workflow") / "alder_quay" / inside).read_bytes()
                flags = os.O_WRONLY | os.O_CREAT | os.O_EXCL | os.O_NOFOLLOW
                with os.fdopen(os.open(out / name, flags, FILE_MODE), "wb") as file:
                    file.write(data)
    except OSError as error:
        reason = error.strerror or "unknown reason"
        return (fault("folder-unwritable", Place(file=str(out)), reason=reason),)
    return ()
