"""The ledger at the counter: where it is, who is at the desk, what is done and asked there.

``open_desk`` gives a ``Desk``; ``Desk.do`` runs one of the actions of ``workflow.ledgeracts``,
``Desk.ask`` one of its questions. Machine troubles (a full disk, a busy database) come back as
findings like any refusal. Close the desk when done.
"""

import getpass
import os
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import datetime
from functools import partial
from pathlib import Path
from typing import Generic, TypeVar

from pinloom.core.findings import Finding, Place, fault, has_fault
from pinloom.ledger import enter, inventory, lists_in, lists_out, secrets
from pinloom.ledger.backup import backup, restore
from pinloom.ledger.database import Trouble, Where, where
from pinloom.ledger.details import Difference, Inventoried
from pinloom.ledger.lookup import system as system_of
from pinloom.ledger.rows import CylinderRow, RevisionRow
from pinloom.ledger.secrets import Secrets, SecretStack
from pinloom.ledger.store import Ledger, Outcome
from pinloom.ledger.unlocking import change_passphrase, unlock
from pinloom.ledger.verify import Checked, verify
from pinloom.ledger.view import Head, Reading, Writing, table_of, tidy
from pinloom.vault import DataKey
from pinloom.workflow.clock import now
from pinloom.workflow.store import write_private

T = TypeVar("T")


@dataclass(frozen=True, slots=True, kw_only=True)
class Answer(Generic[T]):
    """The answer to a question; None with a finding that says why."""

    value: T | None = None
    findings: tuple[Finding, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class CylinderPins:
    """The pins of a cylinder, or, without one, those a revision has for a door. Secret."""

    mark: str
    door: str
    revision: int
    stacks: tuple[SecretStack, ...]


class Desk:
    """An open ledger and the clerk who works at it."""

    def __init__(self, ledger: Ledger, clerk: str) -> None:
        self.ledger = ledger
        self.clerk = clerk

    def do(
        self,
        action: Callable[[Writing], Sequence[Finding]],
        *,
        as_written: bool = False,
        dry: bool = False,
    ) -> Outcome:
        """Record an action, or say why not."""
        try:
            return self.ledger.do(action, self.clerk, as_written=as_written, dry=dry)
        except Trouble as trouble:
            return Outcome(findings=(trouble.finding,))

    def ask(self, question: Callable[[Reading], T | Finding]) -> Answer[T]:
        """The answer to a question, or why there is none."""
        try:
            found = self.ledger.ask(question)
        except Trouble as trouble:
            return Answer(findings=(trouble.finding,))
        return Answer(findings=(found,)) if isinstance(found, Finding) else Answer(value=found)

    def unlock(self, passphrase: str) -> Answer[DataKey]:
        """The key to cuts and pins; wrong passphrases are answered ever more slowly."""
        try:
            found = unlock(self.ledger, passphrase)
        except Trouble as trouble:
            return Answer(findings=(trouble.finding,))
        return Answer(findings=(found,)) if isinstance(found, Finding) else Answer(value=found)

    def close(self) -> None:
        """Let go of the ledger."""
        self.ledger.close()


def usual_place() -> str:
    """Where a ledger is when nobody says where: PINLOOM_LEDGER, or a file of the user's own."""
    named = os.environ.get("PINLOOM_LEDGER")
    if named:
        return named
    home = os.environ.get("XDG_DATA_HOME") or str(Path.home() / ".local" / "share")
    return str(Path(home) / "pinloom" / "ledger.db")


def usual_clerk() -> str:
    """Who is at the desk when nobody says who: PINLOOM_CLERK, or the user's login name."""
    named = os.environ.get("PINLOOM_CLERK")
    if named:
        return named
    try:
        return getpass.getuser()
    except (KeyError, OSError):  # an account without a name
        return f"account {os.getuid()}"


@contextmanager
def desk(place: str = "", clerk: str = "") -> Iterator[Answer[Desk]]:
    """A desk for the length of a block."""
    found = open_desk(place, clerk)
    try:
        yield found
    finally:
        if found.value is not None:
            found.value.close()


def open_desk(place: str = "", clerk: str = "") -> Answer[Desk]:
    """The desk of a ledger that exists."""
    try:
        ledger = Ledger.open(where(place or usual_place()), _local_now)
    except Trouble as trouble:
        return Answer(findings=(trouble.finding,))
    return Answer(value=Desk(ledger, clerk or usual_clerk()))


def new_ledger(place: str, clerk: str, passphrase: str) -> Answer[str]:
    """Make a ledger; where it is now."""
    try:
        there = where(place or usual_place())
        if there.path is not None:
            there.path.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
        Ledger.create(there, _local_now, clerk or usual_clerk(), passphrase).close()
    except Trouble as trouble:
        return Answer(findings=(trouble.finding,))
    except OSError as error:
        return Answer(findings=(_file_error(Path(place or usual_place()), error),))
    return Answer(value=str(there))


def upgrade(place: str, clerk: str, *, again: bool = False) -> Answer[bool]:
    """Bring an older ledger to this version's form; whether there was anything to do."""
    try:
        there = where(place or usual_place())
        made = Ledger.upgrade(there, _local_now, clerk or usual_clerk(), again=again)
    except Trouble as trouble:
        return Answer(findings=(trouble.finding,))
    if made is not None:
        made.close()
    return Answer(value=made is not None)


def new_passphrase(at: Desk, old: str, new: str) -> Outcome:
    """Change the passphrase, at once or not at all."""
    try:
        return change_passphrase(at.ledger, old, new, at.clerk)
    except Trouble as trouble:
        return Outcome(findings=(trouble.finding,))


@dataclass(frozen=True, slots=True, kw_only=True)
class Entry:
    """A job folder to bring in. ``system`` empty = the job's own name."""

    folder: Path
    site: str
    system: str = ""
    building: str = ""
    folder_passphrase: str | None = None


def bring_job(at: Desk, entry: Entry, passphrase: str) -> Outcome:
    """Read a job folder, prove it anew, and record its revision."""
    from pinloom.workflow.folder import load  # the proof and its libraries, only when needed

    loaded = load(entry.folder, entry.folder_passphrase)
    if loaded.job is None:
        return Outcome(findings=loaded.findings)
    job = loaded.job
    key = at.unlock(passphrase)
    if key.value is None:
        return Outcome(findings=(*loaded.findings, *key.findings))
    data_key = key.value
    outcome = at.do(
        lambda tx: enter.enter(
            tx, data_key, job, entry.site, entry.system or job.name, entry.building
        )
    )
    return Outcome(events=outcome.events, findings=(*loaded.findings, *outcome.findings))


def cuts(at: Desk, passphrase: str, system: str, key: str) -> Answer[tuple[int, str]]:
    """The approved revision and the cuts of a key as stamped. Secret: for the bench alone."""
    found = _approved(at, passphrase, system)
    if found.value is None:
        return Answer(findings=found.findings)
    row, hidden, _ = found.value
    name = tidy(key)
    if name not in hidden.stamped:
        unknown = fault("ledger-unknown", what="key", name=name, where=f" in {tidy(system)}")
        return Answer(findings=(unknown,))
    return Answer(value=(row.number, hidden.stamped[name]))


def pins(at: Desk, passphrase: str, system: str, door: str) -> Answer[list[CylinderPins]]:
    """What the approved revision has for a door, and what is pinned in its cylinders now, each as
    of its own revision. Secret.
    """
    approved = _approved(at, passphrase, system)
    if approved.value is None:
        return Answer(findings=approved.findings)
    row, hidden, key = approved.value
    name = tidy(door)
    if name not in hidden.pins:
        unknown = fault("ledger-unknown", what="door", name=name, where=f" in {tidy(system)}")
        return Answer(findings=(unknown,))
    found = [CylinderPins(mark="", door=name, revision=row.number, stacks=hidden.pins[name])]
    table = table_of(CylinderRow)
    here = (table.c.system == row.system, table.c.door == name)
    for one in at.ask(lambda view: view.rows(CylinderRow, *here)).value or []:
        held = at.ask(partial(_reveal, key=key, system=row.system, number=one.revision))
        if held.value is None:
            return Answer(findings=held.findings)
        stacks = held.value.pins[one.pinned_for]
        found.append(
            CylinderPins(mark=one.mark, door=one.pinned_for, revision=one.revision, stacks=stacks)
        )
    return Answer(value=found)


def _approved(
    at: Desk, passphrase: str, system: str
) -> Answer[tuple[RevisionRow, Secrets, DataKey]]:
    """The approved revision of a system with its secret half, and the key to others."""
    key = at.unlock(passphrase)
    if key.value is None:
        return Answer(findings=key.findings)
    data_key = key.value

    def question(view: Reading) -> tuple[RevisionRow, Secrets, DataKey] | Finding:
        owner = system_of(view, system)
        if isinstance(owner, Finding):
            return owner
        row = view.get(RevisionRow, owner.id, owner.approved)
        if row is None:
            return fault("ledger-not-approved", system=owner.name, revision=owner.latest)
        hidden = secrets.reveal(view, data_key, row)
        return hidden if isinstance(hidden, Finding) else (row, hidden, data_key)

    return at.ask(question)


def _reveal(view: Reading, key: DataKey, system: int, number: int) -> Secrets | Finding:
    row = view.get(RevisionRow, system, number)
    if row is None:
        return fault("ledger-seal-damaged", revision=number)
    return secrets.reveal(view, key, row)


def bring_lists(at: Desk, files: Sequence[Path], *, dry: bool) -> Outcome:
    """A shop's lists: read, judged, and unless ``dry`` recorded whole."""
    lists, said = lists_in.read_lists(files)
    outcome = at.do(lambda tx: [*said, *lists_in.bring_in(tx, lists)], dry=dry)
    return Outcome(events=outcome.events, findings=(*lists_in.summary(lists), *outcome.findings))


def take_inventory(
    at: Desk, system: str, file: Path, why: str = ""
) -> tuple[Outcome, tuple[Difference, ...]]:
    """Compare a list of what was seen with the books, and record the differences."""
    seen, said = inventory.read_seen(file)
    if has_fault(said):
        return Outcome(findings=tuple(said)), ()
    outcome = at.do(lambda tx: inventory.take(tx, system, seen, why))
    for event in outcome.events:
        if isinstance(event.details, Inventoried):
            return outcome, event.details.differences
    return outcome, ()


def export(at: Desk, folder: Path) -> Answer[list[str]]:
    """Everything in open formats, to files of mode 0600; their names."""

    def question(view: Reading) -> list[str]:
        folder.mkdir(mode=0o700, parents=True, exist_ok=True)
        names = []
        for name, data in lists_out.written(view):
            write_private(folder / name, data)
            names.append(name)
        return names

    try:
        return at.ask(question)
    except OSError as error:
        return Answer(findings=(_file_error(folder, error),))


def check(at: Desk, receipts: Sequence[str] = ()) -> Answer[Checked]:
    """Whether the ledger is what was recorded."""
    return at.ask(lambda view: verify(view, receipts))


def back_up(at: Desk, target: Path) -> Answer[Head]:
    """A checked backup in one file; its last event."""
    try:
        found = backup(at.ledger, target)
    except Trouble as trouble:
        return Answer(findings=(trouble.finding,))
    return Answer(value=found) if isinstance(found, Head) else Answer(findings=tuple(found))


def bring_back(source: Path, place: str, clerk: str) -> Answer[str]:
    """Restore a backup; where the ledger is now. With a fault the old one is untouched."""
    try:
        there = where(place or usual_place())
        if there.path is not None:
            there.path.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
        findings = restore(source, there, _local_now, clerk or usual_clerk())
    except Trouble as trouble:
        return Answer(findings=(trouble.finding,))
    except OSError as error:
        return Answer(findings=(_file_error(source, error),))
    done = not has_fault(findings)
    return Answer(value=str(there) if done else None, findings=tuple(findings))


def _file_error(path: Path, error: OSError) -> Finding:
    reason = error.strerror or type(error).__name__
    return fault("ledger-file-error", Place(file=str(path)), reason=reason)


def _local_now() -> datetime:
    return now().astimezone()


__all__ = [
    "Answer",
    "CylinderPins",
    "Desk",
    "Entry",
    "Outcome",
    "Where",
    "back_up",
    "bring_back",
    "bring_job",
    "bring_lists",
    "check",
    "cuts",
    "desk",
    "export",
    "new_ledger",
    "new_passphrase",
    "open_desk",
    "pins",
    "take_inventory",
    "upgrade",
    "usual_clerk",
    "usual_place",
]
