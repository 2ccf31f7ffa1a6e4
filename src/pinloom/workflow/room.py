"""Room left in a job's groups: how many more change keys fit with nothing touched."""

from dataclasses import dataclass, replace
from pathlib import Path

from pinloom.core.findings import Finding, fault, has_fault
from pinloom.core.groups import masters
from pinloom.core.job import Job
from pinloom.growth.room import Room, room
from pinloom.workflow.folder import load
from pinloom.workflow.keptroom import still_kept

__all__ = ["Room", "RoomResult", "masters", "room_left"]


@dataclass(frozen=True, slots=True, kw_only=True)
class RoomResult:
    """Room by master, in chart order."""

    job: Job | None
    rooms: tuple[Room, ...]
    findings: tuple[Finding, ...]


def room_left(
    folder: Path, under: tuple[str, ...] = (), show: int = 5, passphrase: str | None = None
) -> RoomResult:
    """Room under the named masters, or under every master of the job. What is kept is proved again
    before it is told.
    """
    loaded = load(folder, passphrase)
    found = list(loaded.findings)
    job = loaded.job
    if job is not None:
        known = job.chart.key_index()
        found += [fault("room-key-unknown", key=name) for name in under if name not in known]
    if job is None or has_fault(found):
        return RoomResult(job=None, rooms=(), findings=tuple(found))
    held = replace(job, kept=still_kept(job, job.kept))
    names = under or tuple(dict.fromkeys((*masters(job.chart), *(k.under for k in held.kept))))
    return RoomResult(
        job=job, rooms=tuple(room(held, name, show) for name in names), findings=tuple(found)
    )
