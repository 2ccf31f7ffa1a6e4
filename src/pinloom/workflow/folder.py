"""Job folders: written whole, read whole, and proved again each time they are read.

What a folder holds is a promise (docs/guide/jobs.md). job.json is the record; the tables beside it
say the same for people, and a folder in which they disagree is refused. A new revision keeps the
record of the one before under ``earlier/`` when cuts or pins changed: a lock on the wall may still
be pinned to it.
"""

import os
from collections.abc import Mapping
from dataclasses import dataclass, replace
from pathlib import Path

from pinloom.core.findings import Finding, Place, caution, fault, has_fault
from pinloom.core.job import Job
from pinloom.core.passphrases import SHORTEST_PASSPHRASE
from pinloom.workflow import jobfile, store
from pinloom.workflow.jobtables import bittings_csv, pinning_csv
from pinloom.workflow.seal import SEALED, seal_files, unseal_files
from pinloom.workflow.verdict import judge_job

RECORD = "job.json"
BITTINGS = "bittings.csv"
PINNING = "pinning.csv"
CHANGES = "changes.csv"
MARK = "NOT-PROVED.txt"


@dataclass(frozen=True, slots=True, kw_only=True)
class Loaded:
    """A job as its folder holds it, proved again; None with at least one fault."""

    job: Job | None
    findings: tuple[Finding, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Saved:
    """A job as it was written, with its revision; None with a fault, and nothing was written.

    ``replaced`` = the revision that stood there with other cuts or pins; ``unchanged`` = the
    folder held exactly this job already.
    """

    job: Job | None
    files: tuple[str, ...] = ()
    replaced: int | None = None
    unchanged: bool = False
    findings: tuple[Finding, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class _Held:
    """What a folder holds: its files, unsealed, and the job on record."""

    files: dict[str, bytes]
    job: Job | None
    sealed: bool
    findings: tuple[Finding, ...] = ()


def load(folder: Path, passphrase: str | None = None) -> Loaded:
    """The job in a folder, with its proof made anew. Altered and damaged folders are refused."""
    held = _held(folder, passphrase)
    if held.job is None:
        found = held.findings or (fault("folder-not-a-job", _place(folder)),)
        return Loaded(job=None, findings=found)
    found = (*held.findings, *_table_faults(folder, held), *_open_to_others(folder))
    if has_fault(found):
        return Loaded(job=None, findings=found)
    report = judge_job(held.job)
    if (report.fingerprint, report.faults) != (held.job.proof.fingerprint, held.job.proof.faults):
        found += (fault("job-other-verdict", _place(folder, RECORD)),)
        return Loaded(job=None, findings=found)
    return Loaded(job=replace(held.job, proof=report), findings=found)


@dataclass(frozen=True, slots=True, kw_only=True)
class Previous:
    """The newest earlier revision on record in a folder, if any. ``grown`` = the folder's job came
    from it by a list of changes, so that what is cut and pinned already stays.
    """

    job: Job | None = None
    grown: bool = False


def previous(folder: Path, passphrase: str | None = None) -> Previous:
    """What the job in a folder came from."""
    held = _held(folder, passphrase)
    if held.job is None:
        return Previous()
    records = [data for name, data in held.files.items() if name.startswith(f"{store.EARLIER}/")]
    found = [record.job for record in map(jobfile.decode, records) if record is not None]
    older = [job for job in found if job.revision < held.job.revision]
    newest = max(older, key=lambda job: job.revision, default=None)
    return Previous(job=newest, grown=newest is not None and CHANGES in held.files)


def check_target(folder: Path, passphrase: str | None = None) -> tuple[Finding, ...]:
    """Why a job cannot be written to a folder; asked before a long search, not after it."""
    return _target(folder, passphrase).findings


def save(
    job: Job,
    folder: Path,
    passphrase: str | None = None,
    changes: bytes | None = None,
    *,
    grown_from: Job | None = None,
    nothing_new: bool = False,
) -> Saved:
    """Write a job whole, as the next revision of what the folder holds. ``changes`` = the table of
    what growth changed, ``grown_from`` = the job it changed, whose record a new folder keeps as an
    earlier one; ``nothing_new`` = the table is empty, so one that is there already stays. A
    passphrase seals the folder.
    """
    held = _target(folder, passphrase)
    if held.findings:
        return Saved(job=None, findings=held.findings)
    if held.job is not None:
        same = replace(job, revision=held.job.revision)
        if same == held.job and held.sealed == (passphrase is not None):
            return Saved(job=same, files=_shown(held.files, held.sealed), unchanged=True)
        job = replace(job, revision=max(job.revision, held.job.revision + 1))
    files = _files_of(job)
    if changes is not None:
        files[CHANGES] = held.files.get(CHANGES, changes) if nothing_new else changes
    files |= _kept(held, job)
    if grown_from is not None and not _same_metal(grown_from, job):
        files.setdefault(_earlier(grown_from), jobfile.encode(grown_from))
    try:
        store.replace_files(folder, seal_files(files, passphrase) if passphrase else files)
    except OSError as error:
        reason = error.strerror or type(error).__name__
        return Saved(
            job=None, findings=(fault("folder-unwritable", _place(folder), reason=reason),)
        )
    return Saved(
        job=job,
        files=_shown(files, passphrase is not None),
        replaced=held.job.revision if held.job and not _same_metal(held.job, job) else None,
    )


def _files_of(job: Job) -> dict[str, bytes]:
    return {**_tables_of(job), RECORD: jobfile.encode(job)}


def _tables_of(job: Job) -> dict[str, bytes]:
    files = {BITTINGS: bittings_csv(job), PINNING: pinning_csv(job)}
    if not job.proof.proved:
        files[MARK] = _mark(job)
    return files


def _mark(job: Job) -> bytes:
    text = (
        f"NOT PROVED: {job.name}, revision {job.revision}\n\n"
        f"The proof found {len(job.proof.faults)} faults; job.json lists them.\n"
        "Cut and pin nothing from these files.\n"
    )
    return text.encode("utf-8")


def _shown(files: Mapping[str, bytes], sealed: bool) -> tuple[str, ...]:
    if sealed:
        return (SEALED,)
    return tuple(name for name in files if not name.startswith(f"{store.EARLIER}/"))


def _kept(held: _Held, job: Job) -> dict[str, bytes]:
    """The records of earlier revisions that stay in the folder."""
    kept = {n: data for n, data in held.files.items() if n.startswith(f"{store.EARLIER}/")}
    if held.job is not None and not _same_metal(held.job, job):
        kept[_earlier(held.job)] = held.files[RECORD]
    return kept


def _earlier(job: Job) -> str:
    return f"{store.EARLIER}/revision-{job.revision}.json"


def _same_metal(one: Job, other: Job) -> bool:
    """Whether two jobs cut the same keys and pin the same cylinders, as many of each."""
    return _metal(one) == _metal(other)


def _metal(job: Job) -> tuple[object, ...]:
    counts = tuple(door.count for door in job.chart.doors)
    return job.bittings, job.controls, job.pinning, counts


def _target(folder: Path, passphrase: str | None) -> _Held:
    """What a new revision would replace; findings say why it must not. A folder that is sealed
    with a short passphrase keeps it.
    """
    held = _present(folder, passphrase)
    if passphrase is not None and not held.sealed and len(passphrase) < SHORTEST_PASSPHRASE:
        short = fault("folder-passphrase-short", _place(folder), least=SHORTEST_PASSPHRASE)
        return replace(held, findings=(*held.findings, short))
    return held


def _present(folder: Path, passphrase: str | None) -> _Held:
    nothing = _Held(files={}, job=None, sealed=False)
    try:
        if not os.path.lexists(folder) or (folder.is_dir() and store.is_empty(folder)):
            return nothing
    except OSError as error:
        return _unreadable(folder, error)
    held = _held(folder, passphrase)
    if held.job is None and not held.findings:
        return replace(nothing, findings=(fault("folder-not-ours", _place(folder)),))
    if held.sealed and passphrase is None:
        return replace(held, findings=(fault("folder-sealed", _place(folder)),))
    return held


def _held(folder: Path, passphrase: str | None) -> _Held:
    """What a folder holds; no job and no finding where there is no job at all."""
    try:
        files = store.read_files(folder)
    except (FileNotFoundError, NotADirectoryError):
        return _Held(files={}, job=None, sealed=False)
    except OSError as error:
        return _unreadable(folder, error)
    sealed = SEALED in files
    if sealed:
        opened = _unsealed(folder, files[SEALED], passphrase)
        if isinstance(opened, Finding):
            return _Held(files={}, job=None, sealed=True, findings=(opened,))
        files = opened
    if RECORD not in files:
        return _Held(files={}, job=None, sealed=sealed)
    job, found = _recorded(folder, files[RECORD])
    return _Held(files=files, job=job, sealed=sealed, findings=found)


def _unsealed(folder: Path, data: bytes, passphrase: str | None) -> dict[str, bytes] | Finding:
    place = _place(folder, SEALED)
    if passphrase is None:
        return fault("folder-sealed", place)
    from pinloom.vault import Unreadable

    files = unseal_files(data, passphrase)
    if files is Unreadable.WRONG_PASSPHRASE:
        return fault("folder-wrong-passphrase", place)
    return fault("folder-seal-damaged", place) if isinstance(files, Unreadable) else files


def _recorded(folder: Path, data: bytes) -> tuple[Job | None, tuple[Finding, ...]]:
    place = _place(folder, RECORD)
    schema = jobfile.schema_of(data)
    if schema is not None and schema > jobfile.SCHEMA:
        return None, (fault("job-newer", place, schema=schema, known=jobfile.SCHEMA),)
    record = jobfile.decode(data)
    if record is None:
        return None, (fault("job-damaged", place),)
    if not jobfile.is_untouched(record, data):
        return None, (fault("job-altered", place),)
    return record.job, ()


def _table_faults(folder: Path, held: _Held) -> tuple[Finding, ...]:
    """Where the tables do not say what the record says."""
    if held.job is None:
        return ()
    found = []
    for name, wanted in _tables_of(held.job).items():
        if name not in held.files:
            found.append(fault("folder-file-missing", _place(folder, name), file=name))
        elif held.files[name] != wanted:
            row = _first_difference(held.files[name], wanted)
            found.append(fault("folder-file-altered", _place(folder, name, row), file=name))
    return tuple(found)


def _first_difference(data: bytes, wanted: bytes) -> int:
    """The line, counted from 1, at which two texts part."""
    one, other = data.splitlines(), wanted.splitlines()
    same = (i for i, (a, b) in enumerate(zip(one, other, strict=False)) if a != b)
    return next(same, min(len(one), len(other))) + 1


def _open_to_others(folder: Path) -> tuple[Finding, ...]:
    if folder.stat().st_mode & 0o077:
        return (caution("folder-open", _place(folder)),)
    return ()


def _unreadable(folder: Path, error: OSError) -> _Held:
    reason = error.strerror or str(error)
    found = fault("folder-unreadable", _place(folder), reason=reason)
    return _Held(files={}, job=None, sealed=False, findings=(found,))


def _place(folder: Path, name: str = "", row: int | None = None) -> Place:
    return Place(file=f"{folder.name}/{name}" if name else str(folder), row=row)
