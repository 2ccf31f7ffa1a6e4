"""A set of small files in one folder that change all together or not at all.

Theory of operation: a redo journal. New contents are written beside the old under names of their
own and flushed to the disk; then one rename puts the commit record in place, and from that instant
the new set counts; then every file is renamed over the old one and the record is removed. A crash
before the record leaves the old set, one after it the new set: reading looks through the
record, and the next change finishes what was left. Other files in the folder are not touched.

A lock on the folder keeps two programs apart; the kernel drops it with its holder.
"""

import fcntl
import json
import os
import re
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from pathlib import Path

FOLDER_MODE = 0o700
FILE_MODE = 0o600

_COMMIT = ".pinloom-commit"
_FRESH = ".pinloom-fresh-"
EARLIER = "earlier"

# A commit record could come from anywhere, so it may name these files and no others.
_FRESH_NAME = re.compile(rf"{re.escape(_FRESH)}\d+")
_OURS = re.compile(
    r"(?:bittings\.csv|pinning\.csv|changes\.csv|job\.json|job\.sealed|NOT-PROVED\.txt"
    rf"|{EARLIER}/revision-[0-9]+\.json)"
)


class DamagedCommit(OSError):
    """The folder's commit record is none that this program wrote."""


def read_files(folder: Path) -> dict[str, bytes]:
    """Every file of the set that counts, by name. Raises OSError."""
    with _locked(folder, fcntl.LOCK_SH):
        pending, dropped = _committed(folder)
        names = (_present(folder) | pending.keys()) - dropped
        found = {}
        for name in sorted(names):
            fresh = folder / pending[name] if name in pending else None
            path = fresh if fresh is not None and fresh.exists() else folder / name
            found[name] = path.read_bytes()
        return found


def replace_files(folder: Path, files: Mapping[str, bytes]) -> None:
    """Make these the whole set. Creates the folder and its parents. Raises OSError."""
    if bad := [name for name in files if not _OURS.fullmatch(name)]:
        raise ValueError(f"not names of the set: {bad}")
    _make_folder(folder)
    with _locked(folder, fcntl.LOCK_EX):
        _finish(folder)
        pending = {}
        for number, name in enumerate(sorted(files)):
            pending[name] = f"{_FRESH}{number}"
            write_private(folder / pending[name], files[name])
        drop = sorted(_present(folder) - files.keys())
        record = json.dumps({"put": pending, "drop": drop}, sort_keys=True).encode()
        write_private(folder / f"{_FRESH}record", record)
        _sync(folder)
        (folder / f"{_FRESH}record").replace(folder / _COMMIT)
        _sync(folder)
        _finish(folder)


def is_empty(folder: Path) -> bool:
    """Whether a folder holds nothing but what an unfinished first write may have left."""
    return all(entry.name.startswith(_FRESH) for entry in folder.iterdir())


def _present(folder: Path) -> set[str]:
    names = {entry.name for entry in folder.iterdir()}
    if EARLIER in names:
        names |= {f"{EARLIER}/{entry.name}" for entry in (folder / EARLIER).iterdir()}
    return {name for name in names if _OURS.fullmatch(name)}


def _committed(folder: Path) -> tuple[dict[str, str], set[str]]:
    """What the commit record says: name -> name of its new contents, and names to drop."""
    try:
        raw = json.loads((folder / _COMMIT).read_bytes())
        put, drop = dict(raw["put"]), set(raw["drop"])
        sound = all(_OURS.fullmatch(name) for name in (*put, *drop))
        sound &= all(_FRESH_NAME.fullmatch(fresh) for fresh in put.values())
    except FileNotFoundError:
        return {}, set()
    except (ValueError, KeyError, TypeError) as error:
        raise DamagedCommit("damaged commit record") from error
    if not sound:
        raise DamagedCommit("a commit record names files that are not of the set")
    return put, drop


def _finish(folder: Path) -> None:
    """Carry out a commit that is pending; without one, clear away what was never committed."""
    put, drop = _committed(folder)
    for name, fresh in put.items():
        if (folder / fresh).exists():
            if name.startswith(f"{EARLIER}/"):
                _make_folder(folder / EARLIER)
            (folder / fresh).replace(folder / name)
    for name in drop:
        (folder / name).unlink(missing_ok=True)
    if put or drop:
        if (folder / EARLIER).is_dir():
            _sync(folder / EARLIER)
        _sync(folder)
        (folder / _COMMIT).unlink()
        _sync(folder)
    for entry in list(folder.iterdir()):
        if entry.name.startswith(_FRESH):
            entry.unlink()


def _make_folder(folder: Path) -> None:
    if not folder.is_dir():
        folder.parent.mkdir(parents=True, exist_ok=True)
        folder.mkdir(FOLDER_MODE)
        _sync(folder.parent)
    folder.chmod(FOLDER_MODE)


def write_private(path: Path, data: bytes) -> None:
    """One file on the disk, mode 0600 also where it had another; no link is followed.

    Raises OSError.
    """
    flags = os.O_WRONLY | os.O_CREAT | os.O_TRUNC | os.O_NOFOLLOW
    with os.fdopen(os.open(path, flags, FILE_MODE), "wb") as file:
        os.fchmod(file.fileno(), FILE_MODE)
        file.write(data)
        file.flush()
        os.fsync(file.fileno())


def _sync(folder: Path) -> None:
    handle = os.open(folder, os.O_RDONLY | os.O_DIRECTORY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)


@contextmanager
def _locked(folder: Path, kind: int) -> Iterator[None]:
    handle = os.open(folder, os.O_RDONLY | os.O_DIRECTORY)
    try:
        fcntl.flock(handle, kind)
        yield
    finally:
        os.close(handle)
