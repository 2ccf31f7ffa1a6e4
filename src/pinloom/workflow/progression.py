"""A standard progression under a top master: its array and its list."""

from collections.abc import Iterable
from dataclasses import dataclass

from pinloom.core.bitting import Bitting, keeps_macs
from pinloom.core.findings import Finding, caution, fault, has_fault
from pinloom.core.hardware import HardwareFormat
from pinloom.design.progression import Listed, Progression, faults, list_keys, progression
from pinloom.hardware import load_format

__all__ = ["ProgressionOrder", "ProgressionResult", "progress"]


@dataclass(frozen=True, slots=True, kw_only=True)
class ProgressionOrder:
    """What is asked for. Chambers count from 1; ``order`` names the fastest first."""

    master: str
    hardware: str
    constants: tuple[int, ...] = ()
    rotating: int = 0
    order: tuple[int, ...] = ()
    rows: tuple[str, ...] = ()
    first: int = 0
    most: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class ProgressionResult:
    """The array and the beginning of its list; None where the wishes cannot be met."""

    made: HardwareFormat | None
    plan: Progression | None
    listed: Listed | None
    findings: tuple[Finding, ...]


def progress(order: ProgressionOrder) -> ProgressionResult:
    """Read the wishes, all faults at once, and progress."""
    read = load_format(order.hardware)
    made = read.format
    if made is None:
        return _nothing(read.findings)
    texts = {"top master": order.master} | {
        f"row {number}": row for number, row in enumerate(order.rows, start=1)
    }
    cuts = {what: _whole(made, text) for what, text in texts.items()}
    found = [*read.findings, *_unread(made, (what for what, word in cuts.items() if not word))]
    words = [word for word in cuts.values() if word]
    if len(words) < len(cuts):
        return _nothing(found)
    master, rows = words[0], words[1:]
    constants = [chamber - 1 for chamber in order.constants]
    places = [chamber - 1 for chamber in order.order]
    found += faults(
        made, master, constants=constants, rotating=order.rotating, order=places, rows=rows
    )
    if has_fault(found):
        return _nothing(found)
    if not keeps_macs(master, made.macs):
        found.append(caution("progression-master-macs", macs=made.macs))
    plan = progression(
        made, master, constants=constants, rotating=order.rotating, order=places, rows=rows
    )
    listed = list_keys(made, plan, order.most, order.first)
    return ProgressionResult(made=made, plan=plan, listed=listed, findings=tuple(found))


def _whole(made: HardwareFormat, text: str) -> Bitting | None:
    """Cuts with nothing left open, or None."""
    read = made.read_cuts(text) or ()
    cuts = tuple(cut for cut in read if cut is not None)
    return cuts if len(cuts) == made.chambers else None


def _unread(made: HardwareFormat, names: Iterable[str]) -> Iterable[Finding]:
    for what in names:
        yield fault("progression-cuts", what=what, chambers=made.chambers, format=made.name)


def _nothing(found: Iterable[Finding]) -> ProgressionResult:
    return ProgressionResult(made=None, plan=None, listed=None, findings=tuple(found))
