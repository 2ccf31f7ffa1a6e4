"""Checks on a gathered chart that do not depend on its form."""

from collections import defaultdict
from collections.abc import Callable, Iterable, Mapping

from pinloom.chart.gathered import Gathered
from pinloom.core.chart import NMK, Blank, Door, KeyStanding
from pinloom.core.findings import Finding, caution, fault, has_fault, note
from pinloom.core.names import natural

MOST_NOTES = 20  # of one kind; after that one note sums up the rest
_MOST_NAMES = 8  # listed in one finding


def check(chart: Gathered, blanks: tuple[Blank, ...], found: list[Finding]) -> None:
    """Everything about who opens what that a person would want to know before designing."""
    opened: dict[str, set[str]] = defaultdict(set)
    for door, openers in chart.opens.items():
        for key in openers:
            opened[key].add(door)
    _check_doors(chart, found)
    _check_keys(chart, opened, found)
    _check_blanks(chart, opened, blanks, found)
    _check_room(chart, opened, found)
    if not has_fault(found):  # who is alike is settled only when the chart is
        _note_alike(chart, opened, found)


def _check_doors(chart: Gathered, found: list[Finding]) -> None:
    for name, openers in chart.opens.items():
        if not openers and name not in chart.doubtful_doors:
            found.append(fault("chart-door-shut", chart.door_places[name], door=name))


def _check_keys(chart: Gathered, opened: Mapping[str, set[str]], found: list[Finding]) -> None:
    for name, key in chart.keys.items():
        doors = opened.get(name, set())
        place = chart.key_places[name]
        if key.standing is KeyStanding.ACTIVE:
            if not doors and name not in chart.doubtful_keys:
                found.append(fault("chart-key-idle", place, key=name))
        elif doors:
            door = min(doors, key=natural)
            found.append(fault("chart-reserved-listed", place, door=door, key=name))


def _check_blanks(
    chart: Gathered,
    opened: Mapping[str, set[str]],
    blanks: tuple[Blank, ...],
    found: list[Finding],
) -> None:
    """A key whose blank does not enter the keyway of a door that it shall open never will."""
    if not blanks:
        return
    enters = {blank.name: set(blank.enters) for blank in blanks}
    for name, key in chart.keys.items():
        place = chart.key_places[name]
        if not key.blank:
            continue
        if key.blank not in enters:
            found.append(fault("chart-blank-unknown", place, key=name, blank=key.blank))
            continue
        outside = [
            door
            for door in sorted(opened.get(name, ()), key=natural)
            if chart.doors[door].keyway and chart.doors[door].keyway not in enters[key.blank]
        ]
        if outside:
            doors = listed(outside)
            found.append(
                fault("chart-blank-outside", place, key=name, blank=key.blank, doors=doors)
            )


def _check_room(chart: Gathered, opened: Mapping[str, set[str]], found: list[Finding]) -> None:
    """Room is kept under a master: a key that another is under, or that opens every door of several
    others, and more.
    """
    named = {key.under for key in chart.keys.values()}
    for name, key in chart.keys.items():
        if key.room is None or not key.room.number or name in chart.doubtful_keys:
            continue
        mine = opened.get(name, set())
        below = sum(bool(doors) and doors < mine for doors in opened.values())
        if key.standing is not KeyStanding.ACTIVE or not (name in named or below > 1):
            found.append(fault("room-no-master", chart.key_places[name], key=name))


def _note_alike(chart: Gathered, opened: Mapping[str, set[str]], found: list[Finding]) -> None:
    def lock(name: str) -> object:
        door: Door = chart.doors[name]
        openers = frozenset(chart.opens[name])
        return openers and (openers, door.hardware, door.unpinned, door.core_group)

    def reach(name: str) -> object:
        return frozenset(opened.get(name, ()))

    for group in _capped(_groups(chart.doors, lock), "chart-more-alike", "doors", found):
        found.append(note("chart-keyed-alike", chart.door_places[group[0]], doors=listed(group)))
    for group in _capped(_groups(chart.keys, reach), "chart-more-alike", "keys", found):
        found.append(note("chart-keys-same", chart.key_places[group[0]], keys=listed(group)))


def _groups(names: Iterable[str], key: Callable[[str], object]) -> list[list[str]]:
    """Names with an equal, non-empty key, in groups of two and more, all in natural order."""
    groups: dict[object, list[str]] = defaultdict(list)
    for name in names:
        value = key(name)
        if value:
            groups[value].append(name)
    alike = [sorted(group, key=natural) for group in groups.values() if len(group) > 1]
    return sorted(alike, key=lambda group: natural(group[0]))


def _capped(groups: list[list[str]], code: str, kind: str, found: list[Finding]) -> list[list[str]]:
    if len(groups) > MOST_NOTES:
        found.append(note(code, kind=kind, groups=len(groups) - MOST_NOTES))
    return groups[:MOST_NOTES]


def listed(names: list[str]) -> str:
    """Names in a sentence, the first few and how many more."""
    more = f" and {len(names) - _MOST_NAMES} more" if len(names) > _MOST_NAMES else ""
    return ", ".join(names[:_MOST_NAMES]) + more


def check_not_master_keyed(chart: Gathered, found: list[Finding]) -> None:
    """In a matrix ``NMK`` must agree with the marks: no key on the door may be the master of
    another key on it, that is, open all doors of the other and more.
    """
    opened: dict[str, set[str]] = defaultdict(set)
    for door, openers in chart.opens.items():
        for key in openers:
            opened[key].add(door)
    for name, one in chart.doors.items():
        if NMK not in one.excepted:
            continue
        openers = chart.opens[name]
        masters = [
            key
            for key in sorted(openers, key=natural)
            if any(opened[other] < opened[key] for other in openers)
        ]
        if masters:
            place = chart.door_places[name]
            found.append(caution("chart-nmk-marked", place, door=name, keys=listed(masters)))
