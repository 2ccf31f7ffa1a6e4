"""What the bench has done, in a file that survives a crash: one line a check-off, never rewritten.

Theory of operation. A check-off is appended as one line in one write and flushed to the disk before
it counts. A crash can leave a torn last line: it is no whole record, so reading passes over it, and
the next writer ends it first. A lock on the file keeps two writers apart.

Lines hold numbers, never names, cuts or pins, and the fingerprint of the proof that they belong to:
in a sealed job's folder the file tells how far the work is and nothing else, and pins that were
changed since have no check-offs. The file lies in the job folder beside the files of the job; it
is no part of the job's record.
"""

import fcntl
import json
import os
from collections.abc import Iterable
from dataclasses import dataclass
from enum import Enum
from pathlib import Path

from pinloom.core.findings import Finding, Place, fault
from pinloom.workflow.clock import now

FILE = "bench-done.jsonl"
FILE_MODE = 0o600
PRINT = 16  # signs of the fingerprint in a line


class What(Enum):
    """What is checked off."""

    CHAMBER = "chamber"  # its pins are in
    OPENS = "opens"  # a key that must open it was tried, and did
    REFUSED = "refused"  # a key that must not was tried, and did not
    TESTED = "tested"  # the cylinder as a whole
    AGAIN = "again"  # taken apart: nothing of it counts any more


@dataclass(frozen=True, slots=True, kw_only=True)
class Tick:
    """One check-off. ``door`` = index in the chart; ``copy`` counts identical cylinders from 0;
    ``at`` = chamber from 0, or index of a key; ``done`` False takes an earlier one back.
    """

    proof: str
    door: int
    copy: int
    what: What
    at: int = 0
    done: bool = True


@dataclass(frozen=True, slots=True, kw_only=True)
class Done:
    """What is checked off for one cylinder."""

    chambers: frozenset[int] = frozenset()
    opens: frozenset[int] = frozenset()
    refused: frozenset[int] = frozenset()
    tested: bool = False


NOTHING = Done()


def read(folder: Path, proof: str) -> dict[tuple[int, int], Done]:
    """(door, copy) -> what is checked off under this proof; empty where nothing was. Raises
    OSError for a file that is there and cannot be read.
    """
    try:
        data = (folder / FILE).read_bytes()
    except FileNotFoundError:
        return {}
    return counted(_ticks(data), proof)


def counted(ticks: Iterable[Tick], proof: str) -> dict[tuple[int, int], Done]:
    """The ticks of one proof, in the order in which they were made."""
    found: dict[tuple[int, int], dict[What, set[int]]] = {}
    for tick in ticks:
        if tick.proof != proof[:PRINT]:
            continue
        cylinder = (tick.door, tick.copy)
        if tick.what is What.AGAIN:
            found.pop(cylinder, None)
            continue
        done = found.setdefault(cylinder, {what: set() for what in What})
        if tick.done:
            done[tick.what].add(tick.at)
        else:
            done[tick.what].discard(tick.at)
            done[What.TESTED].clear()
            if tick.what is What.CHAMBER:
                # What was tried before the chamber was opened again was another cylinder.
                done[What.OPENS].clear()
                done[What.REFUSED].clear()
    return {
        cylinder: Done(
            chambers=frozenset(done[What.CHAMBER]),
            opens=frozenset(done[What.OPENS]),
            refused=frozenset(done[What.REFUSED]),
            tested=bool(done[What.TESTED]),
        )
        for cylinder, done in found.items()
    }


def record(folder: Path, tick: Tick) -> tuple[Finding, ...]:
    """Append one check-off; when this returns without a finding it is on the disk."""
    try:
        _append(folder, _line(tick))
    except OSError as error:
        reason = error.strerror or type(error).__name__
        return (fault("bench-unrecorded", Place(file=f"{folder.name}/{FILE}"), reason=reason),)
    return ()


def _line(tick: Tick) -> bytes:
    record = {
        "proof": tick.proof[:PRINT],
        "door": tick.door,
        "copy": tick.copy,
        "what": tick.what.value,
        "at": tick.at,
        "done": tick.done,
        "time": now().isoformat(timespec="seconds"),
    }
    return json.dumps(record).encode() + b"\n"


def _append(folder: Path, line: bytes) -> None:
    path = folder / FILE
    fresh = not path.exists()
    flags = os.O_RDWR | os.O_APPEND | os.O_CREAT | os.O_NOFOLLOW
    handle = os.open(path, flags, FILE_MODE)
    try:
        fcntl.flock(handle, fcntl.LOCK_EX)
        size = os.fstat(handle).st_size
        if size and os.pread(handle, 1, size - 1) != b"\n":
            line = b"\n" + line
        if os.write(handle, line) != len(line):
            raise OSError("the disk took only a part of the line")
        os.fsync(handle)
    finally:
        os.close(handle)
    if fresh:
        above = os.open(folder, os.O_RDONLY | os.O_DIRECTORY)
        try:
            os.fsync(above)
        finally:
            os.close(above)


def _ticks(data: bytes) -> Iterable[Tick]:
    for line in data.splitlines():
        tick = _tick(line)
        if tick is not None:
            yield tick


def _tick(line: bytes) -> Tick | None:
    """The check-off of a line; None for one that is torn or not of this form."""
    try:
        raw = json.loads(line)
        numbers = [raw[name] for name in ("door", "copy", "at")]
        if not isinstance(raw["proof"], str) or not isinstance(raw["done"], bool):
            return None
        if any(type(one) is not int or one < 0 for one in numbers):
            return None
        door, copy, at = numbers
        what = What(raw["what"])
    except (ValueError, KeyError, TypeError):
        return None
    return Tick(proof=raw["proof"], door=door, copy=copy, what=what, at=at, done=raw["done"])
