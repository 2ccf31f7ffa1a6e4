"""Special cylinders of a job, each with its caution.

Unpinned chambers, doors outside their masters, single-keyed doors, cylinders of other hardware than
the keys', padlocks; keyed-alike doors apart, because reading a chart says them as well. All of them
are allowed; each costs something that a person should have agreed to, so each is said once.

What an unpinned chamber costs is counted: the cuttable keys that operate the cylinder, with and
without pins in those chambers. A key may go on by its last cut alone (MACS), so the count carries a
number a level from position to position.
"""

from collections import Counter
from collections.abc import Iterator, Sequence

from pinloom.core.bitting import Bitting
from pinloom.core.chart import NMK, AccessChart, Door, KeyStanding
from pinloom.core.findings import Finding, caution, note
from pinloom.core.fitting import chamber_positions
from pinloom.core.hardware import HardwareFormat

PADLOCK = "padlock"  # in the shop's own word for the type of a cylinder


def special_cylinders(
    chart: AccessChart,
    key_format: HardwareFormat,
    cylinder_formats: Sequence[HardwareFormat],
    bittings: Sequence[Bitting],
) -> tuple[Finding, ...]:
    """Cautions and notes about special doors, in chart order; other hardware comes last."""
    found: list[Finding] = []
    single = _single_keyed(chart)
    for index, (door, made) in enumerate(zip(chart.doors, cylinder_formats, strict=True)):
        if door.unpinned and (keys := _keys_of(chart, index, bittings)):
            found.append(_unpinned(key_format, door, made, keys))
        if door.excepted:
            found.append(_outside(door))
        if index in single:
            found.append(note("pinning-single-keyed", door=door.name, key=single[index]))
        if door.cylinder and PADLOCK in door.cylinder.casefold():
            found.append(caution("pinning-padlock", door=door.name))
    return (
        *found,
        *_other_hardware(chart, key_format, cylinder_formats),
    )


def operating_keys(
    key_format: HardwareFormat,
    made: HardwareFormat,
    keys: Sequence[Bitting],
    unpinned: Sequence[int] = (),
) -> int:
    """How many cuttable keys operate a cylinder pinned for these keys, at distance 0 everywhere.

    ``unpinned`` counts chambers from 1. Raises ValueError when the keys do not fit the cylinder.
    """
    places = chamber_positions(key_format, made)
    if places is None:
        raise ValueError(f"keys of {key_format.name} do not fit {made.name}")
    checked = {place for chamber, place in enumerate(places, start=1) if chamber not in unpinned}
    every = range(key_format.levels)
    ways = dict.fromkeys({k[0] for k in keys} if 0 in checked else every, 1)
    for position in range(1, key_format.chambers):
        allowed = {key[position] for key in keys} if position in checked else every
        ways = {
            level: sum(n for last, n in ways.items() if abs(last - level) <= key_format.macs)
            for level in allowed
        }
    return sum(ways.values())


def _keys_of(chart: AccessChart, door: int, bittings: Sequence[Bitting]) -> list[Bitting]:
    marks = chart.openers[door]
    return [bittings[k] for k in marks if chart.keys[k].standing is KeyStanding.ACTIVE]


def _unpinned(
    key_format: HardwareFormat, door: Door, made: HardwareFormat, keys: Sequence[Bitting]
) -> Finding:
    return caution(
        "pinning-unpinned",
        door=door.name,
        chambers=", ".join(map(str, door.unpinned)),
        keys=operating_keys(key_format, made, keys, door.unpinned),
        pinned=operating_keys(key_format, made, keys),
    )


def _outside(door: Door) -> Finding:
    if NMK in door.excepted:
        return caution("pinning-not-master-keyed", door=door.name)
    return caution("pinning-excepted", door=door.name, keys=", ".join(door.excepted))


def _single_keyed(chart: AccessChart) -> dict[int, str]:
    """Doors with one key that opens no other door."""
    opened = Counter(key for marks in chart.openers for key in marks)
    return {
        door: chart.keys[marks[0]].name
        for door, marks in enumerate(chart.openers)
        if len(marks) == 1 and opened[marks[0]] == 1
    }


def keyed_alike(chart: AccessChart) -> Iterator[Finding]:
    """A note for every group of cylinders that the same keys open."""
    groups: dict[tuple[int, ...], list[Door]] = {}
    for door, marks in zip(chart.doors, chart.openers, strict=True):
        if marks:
            groups.setdefault(marks, []).append(door)
    for doors in groups.values():
        if len(doors) > 1 or doors[0].count > 1:
            yield note(
                "pinning-keyed-alike",
                doors=", ".join(door.name for door in doors),
                cylinders=sum(door.count for door in doors),
            )


def _other_hardware(
    chart: AccessChart,
    key_format: HardwareFormat,
    formats: Sequence[HardwareFormat],
) -> Iterator[Finding]:
    """Cylinders of another format, by format; those with fewer chambers check fewer cuts."""
    by_name: dict[str, list[int]] = {}
    for door, made in enumerate(formats):
        if made.name != key_format.name:
            by_name.setdefault(made.name, []).append(door)
    for name, doors in sorted(by_name.items()):
        made = formats[doors[0]]
        places = set(chamber_positions(key_format, made) or ())
        unseen = [str(p + 1) for p in range(key_format.chambers) if p not in places]
        yield caution(
            "pinning-other-hardware",
            format=name,
            keys=key_format.name,
            doors=len(doors),
            example=chart.doors[doors[0]].name,
            unseen=", ".join(unseen) or "none",
        )
