"""Pins found in cylinders, compared with a job."""

from dataclasses import dataclass
from pathlib import Path

from pinloom.core.findings import Finding, fault, has_fault
from pinloom.core.job import Job
from pinloom.workflow.folder import load
from pinloom.workflow.foundpins import Found, from_lengths, from_table, from_text
from pinloom.workflow.likeness import Likeness, likeness

__all__ = ["DecodeOrder", "DecodeResult", "Likeness", "decode_pins"]


@dataclass(frozen=True, slots=True, kw_only=True)
class DecodeOrder:
    """What was found, as text or as a table. ``door`` empty = nobody knows, or as the table says;
    ``unit`` = of measured lengths, empty where pins are given by number.
    """

    folder: Path
    door: str = ""
    text: str | None = None
    unit: str = ""
    table: Path | None = None
    passphrase: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class DecodeResult:
    """One answer a cylinder, in the order in which they were given; ``job`` None with a fault."""

    job: Job | None
    cylinders: tuple[Likeness, ...]
    findings: tuple[Finding, ...]

    @property
    def same(self) -> bool:
        """Whether every cylinder is what the record says, and nothing is wrong with any."""
        return all(one.same and not one.faulty for one in self.cylinders)


def decode_pins(order: DecodeOrder) -> DecodeResult:
    """Read the job and what was found, and compare."""
    loaded = load(order.folder, order.passphrase)
    found = list(loaded.findings)
    job = loaded.job
    if job is not None and order.door and order.door not in job.chart.door_index():
        found.append(fault("found-door-unknown", door=order.door))
    if job is None or has_fault(found):
        return DecodeResult(job=None, cylinders=(), findings=tuple(found))
    read = _read(order, job)
    found += read.findings
    wanted = [order.door] if order.door else list(read.cylinders)
    if order.door and order.door not in read.cylinders and not has_fault(found):
        found.append(fault("found-door-untold", door=order.door))
    if has_fault(found) or not wanted:
        return DecodeResult(job=None, cylinders=(), findings=tuple(found))
    found += [fault("found-nothing", name=n or "it") for n in wanted if not read.cylinders[n]]
    if has_fault(found):
        return DecodeResult(job=None, cylinders=(), findings=tuple(found))
    cylinders = tuple(likeness(job, name, read.cylinders[name]) for name in wanted)
    found += [finding for one in cylinders for finding in one.findings]
    return DecodeResult(job=job, cylinders=cylinders, findings=tuple(found))


def _read(order: DecodeOrder, job: Job) -> Found:
    if order.table is not None and order.unit:
        return from_lengths(order.table, job, order.unit)
    if order.table is not None:
        return from_table(order.table, job)
    index = job.chart.door_index().get(order.door)
    made = job.key_format if index is None else job.format_of(index)
    return from_text(order.text or "", order.door, made, order.unit)
