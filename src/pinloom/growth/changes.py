"""What a bench and a key desk have to do to get from one job to another: rows of changes.csv."""

from dataclasses import dataclass

from pinloom.core.chart import KeyStanding
from pinloom.core.job import Job
from pinloom.core.stacks import PinnedCylinder


@dataclass(frozen=True, slots=True, kw_only=True)
class Change:
    """One change. ``name`` is a door or a key; ``before`` and ``after`` may be empty."""

    name: str
    what: str
    before: str
    after: str


def changes(old: Job, new: Job) -> tuple[Change, ...]:
    """All changes, keys first, each in the order of the new chart, things removed last."""
    return (*_keys(old, new), *_doors(old, new))


def _keys(old: Job, new: Job) -> list[Change]:
    before = {key.name: k for k, key in enumerate(old.chart.keys)}
    found: list[Change] = []
    for k, key in enumerate(new.chart.keys):
        stamp = new.key_format.stamp(new.bittings[k])
        if key.name not in before and key.standing is KeyStanding.RETIRED:
            # A lost copy under a name of its own: it exists, and nobody shall cut another.
            found.append(
                Change(
                    name=key.name,
                    what="retire",
                    before=KeyStanding.ACTIVE.value,
                    after=key.standing.value,
                )
            )
            continue
        if key.name not in before:
            found.append(Change(name=key.name, what="cut", before="", after=stamp))
            continue
        was = before[key.name]
        earlier = old.key_format.stamp(old.bittings[was])
        if earlier != stamp:
            found.append(Change(name=key.name, what="re-cut", before=earlier, after=stamp))
        if old.chart.keys[was].standing is not key.standing:
            what = "retire" if key.standing is KeyStanding.RETIRED else "standing"
            found.append(
                Change(
                    name=key.name,
                    what=what,
                    before=old.chart.keys[was].standing.value,
                    after=key.standing.value,
                )
            )
    kept = {key.name for key in new.chart.keys}
    for name, was in before.items():
        if name not in kept:
            stamp = old.key_format.stamp(old.bittings[was])
            found.append(Change(name=name, what="release", before=stamp, after=""))
    return found


def _doors(old: Job, new: Job) -> list[Change]:
    before = {pins.door: pins for pins in old.pinning}
    counts = {door.name: door.count for door in old.chart.doors}
    found: list[Change] = []
    for door, pins in zip(new.chart.doors, new.pinning, strict=True):
        was = before.pop(pins.door, None)
        if was is None:
            found.append(Change(name=pins.door, what="pin", before="", after=_told(new, pins)))
        elif was.chambers != pins.chambers:
            found.append(
                Change(
                    name=pins.door, what="re-pin", before=_told(old, was), after=_told(new, pins)
                )
            )
        count = counts.get(pins.door, door.count)
        if count != door.count:
            found.append(
                Change(name=pins.door, what="count", before=str(count), after=str(door.count))
            )
    found += [
        Change(name=name, what="take off", before=_told(old, pins), after="")
        for name, pins in before.items()
    ]
    return found


def _told(job: Job, pins: PinnedCylinder) -> str:
    """A cylinder in one text: bottom+masters by chamber, ``-`` without pins."""
    door = job.chart.door_index()[pins.door]
    made = job.format_of(door)
    return " ".join(
        "-"
        if stack is None
        else "+".join(str(v) for v in (made.number_of(stack.bottom), *stack.masters))
        for stack in pins.chambers
    )
