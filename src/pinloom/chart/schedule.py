"""The schedule form: each door lists its lowest keys, each key says which master is above it."""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace

from pinloom.chart.cells import NameBook, split_names
from pinloom.chart.doors import door_name, read_door
from pinloom.chart.gathered import Gathered
from pinloom.chart.hierarchy import Tree, check_masters
from pinloom.chart.keys import KeyLine
from pinloom.chart.raw import Row
from pinloom.chart.table import Table
from pinloom.core.chart import NMK, KeyStanding
from pinloom.core.findings import Finding, Place, caution, fault, note


@dataclass(frozen=True, slots=True, kw_only=True)
class Listed:
    """What one row says of its door: the lowest keys and the masters that stay out."""

    lowest: tuple[str, ...]
    excepted: tuple[str, ...] = ()


@dataclass(slots=True)
class _Unknown:
    """Unknown names and where each was first, so that the second finding can point there."""

    folded: Mapping[str, str]  # name without case -> known name
    first: dict[str, Place] = field(default_factory=dict)

    def say(self, place: Place, door: str, key: str) -> Finding:
        """A fault for an unknown key; one that differs only in case is named."""
        other = self.folded.get(key.casefold())
        near = f" Probably {other} is meant." if other else ""
        first = self.first.setdefault(key, place)
        again = None if first is place else first
        return fault("chart-key-unknown", place, again, door=door, key=key, near=near)


def read_schedule(table: Table, lines: Mapping[str, KeyLine], found: list[Finding]) -> Gathered:
    """Doors, keys and marks of a schedule with its table of keys."""
    under = check_masters(lines, found)
    chart = Gathered()
    for name, line in lines.items():
        master = under.get(name, "")
        key = line.key if line.key.under == master else replace(line.key, under=master)
        chart.add_key(key, line.place)
        if line.key.under and name not in under:
            chart.doubtful_keys.add(name)
    if not table.rows:
        chart.doubtful_keys |= chart.keys.keys()
    tree = Tree(chart.keys.values(), under)
    book = NameBook(twice="chart-door-twice")
    unknown = _Unknown(folded={name.casefold(): name for name in chart.keys})
    for row in table.rows:
        _read_row(table, row, chart, tree, book, unknown, found)
    _check_idle_masters(chart, under, found)
    return chart


def _read_row(
    table: Table,
    row: Row,
    chart: Gathered,
    tree: Tree,
    book: NameBook,
    unknown: _Unknown,
    found: list[Finding],
) -> None:
    name = door_name(table, row, found)
    keys = table.cell(row, "keys")
    lowest = split_names(keys or "", chart.keys)
    if name is None or not book.enter(name, table.place(row, "door"), found):
        known = [key for key in lowest if key in chart.keys]
        chart.doubtful_keys |= set(known) | tree.implied(known)
        return
    known = _known(table.place(row, "keys"), name, lowest, chart, unknown, found)
    if keys is None or len(known) < len(lowest):
        chart.doubtful_doors.add(name)
    implied = tree.implied(known)
    excepted = _excepted(table, row, name, Listed(lowest=tuple(known)), implied, chart, found)
    shut = implied - set(known) if NMK in excepted else set(excepted)
    door = read_door(table, row, name, found)
    if excepted:
        door = replace(door, excepted=excepted)
    chart.add_door(door, table.place(row, "door"), (set(known) | implied) - shut)


def _known(
    place: Place,
    door: str,
    names: list[str],
    chart: Gathered,
    unknown: _Unknown,
    found: list[Finding],
) -> list[str]:
    known: list[str] = []
    for name in names:
        if name in known:
            found.append(note("chart-key-listed-twice", place, door=door, key=name))
        elif name not in chart.keys:
            found.append(unknown.say(place, door, name))
        elif chart.keys[name].standing is not KeyStanding.ACTIVE:
            found.append(fault("chart-reserved-listed", place, door=door, key=name))
            chart.doubtful_doors.add(door)
            chart.doubtful_keys.add(name)
        else:
            known.append(name)
    return known


def _excepted(
    table: Table,
    row: Row,
    door: str,
    listed: Listed,
    implied: set[str],
    chart: Gathered,
    found: list[Finding],
) -> tuple[str, ...]:
    cell = table.cell(row, "except")
    if not cell:
        return ()
    place = table.place(row, "except")
    names = list(dict.fromkeys(split_names(cell, chart.keys)))
    for name in names:
        if name == NMK:
            continue
        if name not in chart.keys:
            found.append(fault("chart-except-unknown", place, door=door, key=name))
        elif name in listed.lowest:
            found.append(fault("chart-except-listed", place, door=door, key=name))
        elif name not in implied:
            found.append(caution("chart-except-idle", place, door=door, key=name))
    return tuple(names)


def _check_idle_masters(chart: Gathered, under: Mapping[str, str], found: list[Finding]) -> None:
    """A reserved key with keys under it opens nothing although it looks like their master."""
    members: dict[str, int] = {}
    for master in under.values():
        members[master] = members.get(master, 0) + 1
    for name, key in chart.keys.items():
        if key.standing is not KeyStanding.ACTIVE and name in members:
            place = chart.key_places[name]
            found.append(note("chart-reserved-master", place, key=name, keys=members[name]))
