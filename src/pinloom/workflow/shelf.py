"""A folder of jobs, as a page shows them: their names, and each job read and proved on demand.

A job is read again as soon as one of its files changes, so nothing shown is older than the disk;
between changes the proved record is kept, because a page asks for it at every click. A sealed job
is kept only together with the passphrase that opened it, and ``forget`` drops everything.
"""

import threading
from collections.abc import Iterator
from dataclasses import dataclass
from hashlib import sha256
from pathlib import Path

from pinloom.core.findings import Finding, Place, caution, fault, has_fault
from pinloom.core.names import natural
from pinloom.workflow.folder import BITTINGS, PINNING, RECORD, Loaded, load
from pinloom.workflow.seal import SEALED

WANTED = "wanted.json"  # must stay in sync with pinloom.workflow.wanted
KEPT = 4  # jobs in memory

_Stamp = tuple[tuple[str, int, int, int], ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Shelved:
    """One job folder. ``name`` is the folder's own."""

    name: str
    folder: Path
    sealed: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Listed:
    """What a folder of jobs holds, in natural order of names; findings where it cannot be read."""

    jobs: tuple[Shelved, ...]
    findings: tuple[Finding, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class _Kept:
    stamp: _Stamp
    word: bytes
    loaded: Loaded


class Shelf:
    """The folder of jobs behind the page. Safe to use from several threads."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self._kept: dict[str, _Kept] = {}
        self._guard = threading.Lock()

    def listed(self) -> Listed:
        """Every job folder that lies directly in the folder; one that is not there is empty."""
        if not self.folder.exists():
            return Listed(jobs=())
        try:
            found = sorted(self._jobs(), key=lambda job: natural(job.name))
        except OSError as error:
            reason = error.strerror or type(error).__name__
            place = Place(file=self.folder.name)
            return Listed(jobs=(), findings=(fault("web-shelf-unreadable", place, reason=reason),))
        return Listed(jobs=tuple(found))

    def find(self, name: str) -> Shelved | None:
        """The job folder of that name. Only names that are listed are found, so no name leads out
        of the folder.
        """
        return next((job for job in self.listed().jobs if job.name == name), None)

    def job(self, shelved: Shelved, passphrase: str | None = None) -> Loaded:
        """The job, proved; from memory while its files are as they were."""
        stamp = _stamp(shelved.folder)
        word = sha256((passphrase or "").encode()).digest()
        with self._guard:
            kept = self._kept.get(shelved.name)
        if kept is not None and (kept.stamp, kept.word) == (stamp, word):
            return kept.loaded
        loaded = load(shelved.folder, passphrase)
        if loaded.job is not None and not has_fault(loaded.findings):
            with self._guard:
                self._kept.pop(shelved.name, None)
                while len(self._kept) >= KEPT:
                    self._kept.pop(next(iter(self._kept)))
                self._kept[shelved.name] = _Kept(stamp=stamp, word=word, loaded=loaded)
        return loaded

    def remarks(self, shelved: Shelved) -> tuple[Finding, ...]:
        """What should not lie beside a job: an edited chart in the clear next to a sealed one."""
        if shelved.sealed and (shelved.folder / WANTED).exists():
            return (caution("web-clear-beside-seal", Place(file=f"{shelved.name}/{WANTED}")),)
        return ()

    def forget(self) -> None:
        """Drop every job from memory."""
        with self._guard:
            self._kept.clear()

    def _jobs(self) -> Iterator[Shelved]:
        for entry in self.folder.iterdir():
            if not speakable(entry.name) or not entry.is_dir():
                continue
            sealed = (entry / SEALED).is_file()
            if sealed or (entry / RECORD).is_file():
                yield Shelved(name=entry.name, folder=entry, sealed=sealed)


def speakable(name: str) -> bool:
    """Whether a folder's name can stand on a page and in an address."""
    return not name.startswith(".") and name.isprintable()


def _stamp(folder: Path) -> _Stamp:
    found = []
    for name in (RECORD, SEALED, BITTINGS, PINNING):
        try:
            told = (folder / name).stat()
        except OSError:
            continue
        found.append((name, told.st_mtime_ns, told.st_size, told.st_ino))
    return tuple(found)
