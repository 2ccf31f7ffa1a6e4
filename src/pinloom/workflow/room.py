"""Room left in a job's groups: how many more change keys fit with nothing touched."""

from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING

from pinloom.core.bitting import Bitting
from pinloom.core.findings import Finding, fault, has_fault
from pinloom.core.groups import masters
from pinloom.core.job import Job
from pinloom.growth.room import Room, room
from pinloom.workflow.folder import load
from pinloom.workflow.keptroom import still_kept

if TYPE_CHECKING:  # the ledger's libraries, only where a ledger is given
    from pinloom.workflow.reuse import Books

__all__ = ["Room", "RoomResult", "masters", "room_left"]


@dataclass(frozen=True, slots=True, kw_only=True)
class RoomResult:
    """Room by master, in chart order."""

    job: Job | None
    rooms: tuple[Room, ...]
    findings: tuple[Finding, ...]


def room_left(
    folder: Path,
    under: tuple[str, ...] = (),
    show: int = 5,
    passphrase: str | None = None,
    books: "Books | None" = None,
) -> RoomResult:
    """Room under the named masters, or under every master of the job. What is kept is proved again
    before it is told. ``books`` = the ledger that says which cuts may be offered again.
    """
    loaded = load(folder, passphrase)
    found = list(loaded.findings)
    job = loaded.job
    if job is not None:
        known = job.chart.key_index()
        found += [fault("room-key-unknown", key=name) for name in under if name not in known]
    if job is None or has_fault(found):
        return RoomResult(job=None, rooms=(), findings=tuple(found))
    base, avoid, said = _by_the_books(job, books)
    found += said
    if has_fault(said):
        return RoomResult(job=None, rooms=(), findings=tuple(found))
    held = replace(base, kept=still_kept(base, base.kept))
    names = under or tuple(dict.fromkeys((*masters(job.chart), *(k.under for k in held.kept))))
    return RoomResult(
        job=job,
        rooms=tuple(room(held, name, show, avoid) for name in names),
        findings=tuple(found),
    )


def _by_the_books(
    job: Job, books: "Books | None"
) -> tuple[Job, tuple[Bitting, ...], tuple[Finding, ...]]:
    """The job without retired keys that may be forgotten, and the cuts that no key may get."""
    if books is None:
        return job, (), ()
    from pinloom.workflow.reuse import forgotten, read_reuse

    reuse = read_reuse(books, job)
    slim, _ = forgotten(job, reuse)
    return slim, tuple(sorted(reuse.held)), reuse.findings
