"""The room of a design, master by master, as a command tells it."""

from collections.abc import Mapping
from dataclasses import dataclass, replace

from pinloom.core.findings import Finding, fault
from pinloom.core.groups import change_keys
from pinloom.core.hardware import CoreKind
from pinloom.core.job import Job
from pinloom.core.room import USUAL
from pinloom.growth.continued import first_that_fit
from pinloom.growth.room import room
from pinloom.workflow.keptroom import RoomAnswer
from pinloom.workflow.roomwish import Wishes

MOST_DOORS = 1_000  # of a job whose groups are counted unasked
MOST_IN_FULL = 3  # groups that are counted in full, a tenth of a second each


@dataclass(frozen=True, slots=True, kw_only=True)
class RoomLine:
    """One master. ``keys`` = its change keys now; ``wish`` as written; ``wanted`` further keys that
    the wish comes to; ``kept`` = combinations kept for it; ``found`` = how many of the wanted
    certainly fit, None where nobody counted. ``usual`` = nobody asked: it is the usual wish.
    """

    under: str
    keys: int
    wish: str
    wanted: int
    kept: int = 0
    found: int | None = None
    usual: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class RoomTold:
    """``lines`` in chart order; ``refused`` = no design was found with the room asked for;
    ``fits`` = by master, room with which one was found; ``moot`` = there is no design without room
    either.
    """

    lines: tuple[RoomLine, ...]
    refused: bool = False
    moot: bool = False
    fits: Mapping[str, int] | None = None


def told_kept(job: Job) -> RoomTold | None:
    """What a grown job still keeps; None where nothing was asked for."""
    if not job.kept:
        return None
    lines = (
        RoomLine(
            under=one.under,
            keys=change_keys(job.chart, one.under),
            wish=str(one.asked),
            wanted=one.asked,
            kept=len(one.cuts),
            found=len(one.cuts),
        )
        for one in job.kept
    )
    return RoomTold(lines=tuple(lines))


def told_refusal(wishes: Wishes, room: RoomAnswer) -> RoomTold | None:
    """What was asked for and came to no design; None where nothing was asked for."""
    lines = _asked(wishes)
    if not lines:
        return None
    return RoomTold(lines=lines, refused=room.refused, moot=not room.refused, fits=room.fits)


def room_lost(job: Job, wishes: Wishes) -> tuple[Finding, ...]:
    """A fault for each master of which less is kept than the design was made with."""
    held = {one.under: len(one.cuts) for one in job.kept}
    short = (name for name, wanted in wishes.counts.items() if held.get(name, 0) < wanted)
    return tuple(fault("room-lost", key=name) for name in short)


def _asked(wishes: Wishes) -> tuple[RoomLine, ...]:
    return tuple(
        RoomLine(under=name, keys=wishes.keys[name], wish=str(wish), wanted=wishes.counts[name])
        for name, wish in wishes.asked.items()
        if name in wishes.counts
    )


def told_room(job: Job, wishes: Wishes) -> RoomTold:
    """What a finished job keeps, and whether the groups that nobody asked for have the usual room.

    That count is of jobs of at most ``MOST_DOORS`` doors, all of them of the job's own format with
    pins in every chamber, and no large-format cores: others are counted only on request.
    """
    held: dict[str, int] = {one.under: len(one.cuts) for one in job.kept}
    found = _usual(job, wishes.usual) if _counted(job) else {}
    lines = {
        line.under: replace(line, kept=held.get(line.under, 0), found=held.get(line.under, 0))
        for line in _asked(wishes)
    }
    lines |= {
        name: RoomLine(
            under=name,
            keys=wishes.keys[name],
            wish=str(USUAL),
            wanted=wanted,
            found=found.get(name),
            usual=True,
        )
        for name, wanted in wishes.usual.items()
    }
    return RoomTold(lines=tuple(lines[key.name] for key in job.chart.keys if key.name in lines))


def _usual(job: Job, wanted: Mapping[str, int]) -> dict[str, int]:
    """How many of the wanted keys certainly fit: quickly, and the first that seem short in full."""
    found = {name: len(cuts) for name, cuts in first_that_fit(job, wanted).items()}
    short = [name for name, n in found.items() if n < wanted[name]]
    for name in short[:MOST_IN_FULL]:
        found[name] = min(wanted[name], max(found[name], room(job, name, 0).least))
    return found


def _counted(job: Job) -> bool:
    return (
        len(job.chart.doors) <= MOST_DOORS
        and len(job.formats) == 1
        and (job.key_format.core is None or job.key_format.core.kind is CoreKind.SMALL)
        and not any(door.unpinned for door in job.chart.doors)
    )
