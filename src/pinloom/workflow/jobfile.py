"""The file job.json: a whole job with the fingerprints of what it rests on.

Canonical: the same job gives the same bytes, and other bytes are not taken for a job that this
program wrote. ``schema`` counts up when the record changes; older ones are migrated here. What was
added later (room that is kept, groups of a layout) is left out where there is none, so that older
files stay as they are.
"""

from dataclasses import dataclass
from functools import cache
from typing import TYPE_CHECKING, Literal

from pinloom.core.bitting import Bitting
from pinloom.core.chart import AccessChart, Key
from pinloom.core.fingerprints import fingerprint
from pinloom.core.hardware import HardwareFormat
from pinloom.core.job import Job, Layout
from pinloom.core.stacks import PinStack
from pinloom.workflow.recordtext import Writer

if TYPE_CHECKING:  # slow to load, and only reading a job needs it
    from pydantic import TypeAdapter

SCHEMA = 1
PROVED, NOT_PROVED = "PROVED", "NOT PROVED"


@dataclass(frozen=True, slots=True, kw_only=True)
class FormatPrint:
    """The fingerprint of one format."""

    name: str
    sha256: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Prints:
    """Fingerprints, hexadecimal: of the chart, of each format, of exactly what was proved and of
    the whole job. They show accidents and hand edits; they are no signature.
    """

    chart: str
    formats: tuple[FormatPrint, ...]
    proof: str
    job: str


@dataclass(frozen=True, slots=True, kw_only=True)
class JobFile:
    """The record in job.json; a person who opens it reads the verdict first."""

    pinloom: Literal["job"]
    schema: int
    verdict: str
    fingerprints: Prints
    job: Job


@dataclass(frozen=True, slots=True, kw_only=True)
class _Head:
    pinloom: Literal["job"]
    schema: int


def verdict_of(job: Job) -> str:
    """``PROVED`` or ``NOT PROVED``."""
    return PROVED if job.proof.proved else NOT_PROVED


def encode(job: Job) -> bytes:
    """The job as the bytes of job.json."""
    writer = _writer(job)
    record = JobFile(
        pinloom="job",
        schema=SCHEMA,
        verdict=verdict_of(job),
        fingerprints=_prints(job, writer),
        job=job,
    )
    return writer.text(record).encode("utf-8") + b"\n"


def decode(data: bytes) -> JobFile | None:
    """The record in the bytes of a job.json; None when they are none of this schema."""
    from pydantic import ValidationError

    try:
        return _files().validate_json(data)
    except ValidationError:
        return None


def is_untouched(record: JobFile, data: bytes) -> bool:
    """Whether the bytes are what this program wrote for exactly this record."""
    return is_consistent(record.job) and encode(record.job) == data


def is_consistent(job: Job) -> bool:
    """Whether the parts of a job fit together in number and by name."""
    chart = job.chart
    names = {one.name for one in job.formats}
    return (
        bool(job.formats)
        and len(job.bittings) == len(chart.keys)
        and len(job.pinning) == len(chart.doors) == len(chart.openers)
        and all(0 <= key < len(chart.keys) for row in chart.openers for key in row)
        and all(not door.hardware or door.hardware in names for door in chart.doors)
        and all(len(levels) == job.key_format.chambers for levels in _all_cuts(job))
        and {kept.under for kept in job.kept} <= {key.name for key in chart.keys}
        and all(0 <= level < job.key_format.levels for cuts in _all_cuts(job) for level in cuts)
    )


def _all_cuts(job: Job) -> tuple[Bitting, ...]:
    return (
        *job.bittings,
        *(control.levels for control in job.controls),
        *(cuts for kept in job.kept for cuts in kept.cuts),
    )


def schema_of(data: bytes) -> int | None:
    """The schema of a job.json, also of one written by a later version; None for other files."""
    from pydantic import ValidationError

    try:
        return _heads().validate_json(data).schema
    except ValidationError:
        return None


def _prints(job: Job, writer: Writer) -> Prints:
    return Prints(
        chart=fingerprint([writer.text(job.chart)]),
        formats=tuple(
            FormatPrint(name=one.name, sha256=fingerprint([writer.text(one)]))
            for one in job.formats
        ),
        proof=job.proof.fingerprint,
        job=fingerprint([writer.text(job)]),
    )


def _writer(job: Job) -> Writer:
    """Leaves out fields that files did not have from the start and that say nothing here."""
    left_out: list[tuple[type, str]] = []
    if not job.kept:
        left_out.append((Job, "kept"))
    if all(key.room is None for key in job.chart.keys):
        left_out.append((Key, "room"))
    if job.layout is not None and not (job.layout.groups or job.layout.crossing):
        left_out += [(Layout, "groups"), (Layout, "crossing")]
    return Writer(left_out, shared=(Job, AccessChart, HardwareFormat, PinStack))


@cache
def _files() -> "TypeAdapter[JobFile]":
    from pydantic import TypeAdapter

    return TypeAdapter(JobFile)


@cache
def _heads() -> "TypeAdapter[_Head]":
    from pydantic import TypeAdapter

    return TypeAdapter(_Head)
