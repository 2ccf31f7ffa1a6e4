"""The chart that is wanted next for a job, while it is being edited; and its file.

Theory of operation. The edited chart lies in the job folder as one small file of its own, beside
the files of the job and no part of its record. Each write says which chart the person saw, by its
fingerprint: when the chart has become another one meanwhile, nothing is written and the person is
told. A write is all its edits or none. The file is replaced whole: the new one is flushed before it
takes the name, so a crash leaves the chart before or after the edit. Earlier charts are kept in
memory, to go back and forth.
"""

import fcntl
import os
import threading
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Literal

from pydantic import TypeAdapter, ValidationError

from pinloom.core.chart import AccessChart
from pinloom.core.findings import Finding, Place, fault
from pinloom.core.fingerprints import fingerprint
from pinloom.workflow.edits import Edit, applied
from pinloom.workflow.store import write_private

FILE = "wanted.json"
PRINT = 16
MOST_BACK = 200  # charts to go back


@dataclass(frozen=True, slots=True, kw_only=True)
class _File:
    pinloom: Literal["wanted chart"]
    schema: Literal[1]
    chart: AccessChart


@dataclass(frozen=True, slots=True, kw_only=True)
class Written:
    """What a write came to. ``seen`` = the fingerprint of ``chart``; ``back`` and ``forth`` = how
    many steps there are. With findings nothing was written.
    """

    chart: AccessChart
    seen: str
    back: int
    forth: int
    findings: tuple[Finding, ...] = ()


def print_of(chart: AccessChart) -> str:
    """The short fingerprint by which a page says what it showed."""
    return fingerprint([_charts().dump_json(chart).decode()])[:PRINT]


class Wanted:
    """The wanted chart of one job folder. Safe for threads; other processes are noticed."""

    def __init__(self, folder: Path, present: AccessChart) -> None:
        self._folder = folder
        self._present = present
        self._guard = threading.Lock()
        self._back: list[AccessChart] = []
        self._forth: list[AccessChart] = []
        self._chart: AccessChart = present
        self._seen = ""

    def now(self, present: AccessChart) -> Written:
        """The chart as it stands; ``present`` = the job's own, where nothing was edited yet."""
        with self._guard:
            self._present = present
            try:
                self._read()
            except OSError as error:
                return self._written(_unreadable(self._folder, error))
            return self._written()

    def write(self, seen: str, edits: Sequence[Edit]) -> Written:
        """Carry out edits on the chart that was seen."""
        with self._guard:
            try:
                with _locked(self._folder):
                    self._read()
                    if seen != self._seen:
                        return self._written(fault("edit-stale"))
                    changed, found = applied(self._chart, edits)
                    if found or changed is None:
                        return self._written(*found)
                    if changed != self._chart:
                        self._back = [*self._back[-MOST_BACK + 1 :], self._chart]
                        self._forth = []
                        self._save(changed)
            except OSError as error:
                return self._written(_unwritable(self._folder, error))
            return self._written()

    def step(self, seen: str, *, back: bool) -> Written:
        """One step back, or forth again."""
        with self._guard:
            try:
                with _locked(self._folder):
                    self._read()
                    if seen != self._seen:
                        return self._written(fault("edit-stale"))
                    source, target = (
                        (self._back, self._forth) if back else (self._forth, self._back)
                    )
                    if source:
                        before = self._chart
                        self._save(source[-1])
                        source.pop()
                        target.append(before)
            except OSError as error:
                return self._written(_unwritable(self._folder, error))
            return self._written()

    def drop(self) -> None:
        """Forget the edits: the job's own chart is wanted again. Raises OSError."""
        with self._guard:
            (self._folder / FILE).unlink(missing_ok=True)
            self._back, self._forth = [], []

    def _written(self, *found: Finding) -> Written:
        return Written(
            chart=self._chart,
            seen=self._seen,
            back=len(self._back),
            forth=len(self._forth),
            findings=found,
        )

    def _read(self) -> None:
        """The chart on disk; steps that belong to another chart are dropped."""
        try:
            data = (self._folder / FILE).read_bytes()
        except FileNotFoundError:
            chart = self._present
        else:
            try:
                chart = _files().validate_json(data).chart
            except ValidationError as error:
                raise OSError("it was altered or damaged") from error
        if chart != self._chart or not self._seen:
            self._back, self._forth = [], []
            self._take(chart)

    def _save(self, chart: AccessChart) -> None:
        record = _File(pinloom="wanted chart", schema=1, chart=chart)
        fresh = self._folder / f".{FILE}.fresh"
        write_private(fresh, _files().dump_json(record) + b"\n")
        fresh.replace(self._folder / FILE)
        self._take(chart)

    def _take(self, chart: AccessChart) -> None:
        self._chart, self._seen = chart, print_of(chart)


@contextmanager
def _locked(folder: Path) -> Iterator[None]:
    handle = os.open(folder, os.O_RDONLY | os.O_DIRECTORY)
    try:
        fcntl.flock(handle, fcntl.LOCK_EX)
        yield
    finally:
        os.close(handle)


def _unreadable(folder: Path, error: OSError) -> Finding:
    reason = error.strerror or str(error)
    return fault("edit-unreadable", Place(file=f"{folder.name}/{FILE}"), reason=reason)


def _unwritable(folder: Path, error: OSError) -> Finding:
    reason = error.strerror or str(error)
    return fault("edit-unwritable", Place(file=f"{folder.name}/{FILE}"), reason=reason)


@cache
def _files() -> TypeAdapter[_File]:
    return TypeAdapter(_File)


@cache
def _charts() -> TypeAdapter[AccessChart]:
    return TypeAdapter(AccessChart)
