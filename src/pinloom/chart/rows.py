"""A chart as rows of texts, in the forms that `read_chart` reads back to the same chart.

What must hold: reading what is written gives the chart again. A form that cannot hold a chart says
so in a fault instead of writing something else: a matrix has no room for a key named like a column,
a schedule none for a list of names that would be split otherwise.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from pinloom.chart.cells import split_names
from pinloom.chart.doors import DOOR_COLUMNS
from pinloom.chart.hierarchy import Tree
from pinloom.chart.keys import RETIRED
from pinloom.chart.table import plain_head
from pinloom.core.chart import NMK, AccessChart, Door, Key, KeyStanding
from pinloom.core.findings import Finding, fault

Rows = tuple[tuple[str, ...], ...]

_DOOR_HEADS = (
    "opening", "cylinder", "hardware", "keyway", "count", "except", "unpinned", "core group"
)  # fmt: skip
_KEY_HEADS = ("under", "copies", "reserved", "cuts", "blank", "note", "room")
_STANDINGS = {KeyStanding.ACTIVE: "", KeyStanding.RESERVED: "yes", KeyStanding.RETIRED: RETIRED}


@dataclass(frozen=True, slots=True, kw_only=True)
class Sheets:
    """The rows of a chart's sheets, heads first. ``keyways`` is empty when there are none."""

    doors: Rows
    keys: Rows
    keyways: Rows
    findings: tuple[Finding, ...] = ()


def as_rows(chart: AccessChart) -> Rows:
    """The chart as the rows of a matrix, ``x`` where a key opens a door."""
    return matrix_sheets(chart).doors


def matrix_sheets(chart: AccessChart) -> Sheets:
    """The chart in matrix form; the table of keys holds what columns of marks cannot."""
    taken = DOOR_COLUMNS | {"door", "keys"}
    found = [
        fault("chart-write-head", key=key.name)
        for key in chart.keys
        if plain_head(key.name) in taken or (key.name[0] == "(" and key.name[-1] == ")")
    ]
    known = {key.name for key in chart.keys} | {NMK}
    found += [
        fault("chart-write-list", door=door.name, names=" ".join(door.excepted))
        for door in chart.doors
        if split_names(" ".join(door.excepted), known) != list(door.excepted)
    ]
    optional = [door_cells(door, door.excepted) for door in chart.doors]
    heads, kept = _filled(_DOOR_HEADS, optional)
    rows = [("door", *heads, *(key.name for key in chart.keys))]
    for door, cells, opened in zip(chart.doors, kept, chart.openers, strict=True):
        marks = set(opened)
        row = ("x" if k in marks else "" for k in range(len(chart.keys)))
        rows.append((door.name, *cells, *row))
    return Sheets(
        doors=tuple(rows), keys=key_rows(chart), keyways=blank_rows(chart), findings=tuple(found)
    )


def schedule_sheets(chart: AccessChart) -> Sheets:
    """The chart in schedule form: lowest keys at the doors, masters in the table of keys."""
    found: list[Finding] = []
    under = {key.name: key.under for key in chart.keys if key.under}
    tree = Tree(chart.keys, under)
    known = {key.name for key in chart.keys} | {NMK}
    lists: list[str] = []
    optional: list[tuple[str, ...]] = []
    for door, opened in zip(chart.doors, chart.openers, strict=True):
        lowest, excepted = _listed(door, [chart.keys[k].name for k in opened], tree)
        for names in (lowest, excepted):
            if split_names(" ".join(names), known) != list(names):
                found.append(fault("chart-write-list", door=door.name, names=" ".join(names)))
        lists.append(" ".join(lowest))
        optional.append(door_cells(door, excepted))
    heads, kept = _filled(_DOOR_HEADS, optional)
    rows = [("door", "keys", *heads)]
    for door, text, cells in zip(chart.doors, lists, kept, strict=True):
        rows.append((door.name, text, *cells))
    return Sheets(
        doors=tuple(rows), keys=key_rows(chart), keyways=blank_rows(chart), findings=tuple(found)
    )


def _listed(
    door: Door, openers: Sequence[str], tree: Tree
) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """The keys to list for a door, and what to except, so that just the openers remain."""
    if NMK in door.excepted:
        return tuple(openers), door.excepted
    implied = tree.implied(openers)
    lowest = tuple(name for name in openers if name not in implied)
    shut = tree.implied(lowest) - set(openers)
    # As written where that still says the same, else the least that does.
    if shut <= set(door.excepted) and not set(door.excepted) & set(openers):
        return lowest, door.excepted
    return lowest, tuple(sorted(shut))


def door_cells(door: Door, excepted: Iterable[str]) -> tuple[str, ...]:
    """The optional columns of a door, in the order of the heads."""
    return (
        door.opening,
        door.cylinder,
        door.hardware,
        door.keyway,
        "" if door.count == 1 else str(door.count),
        " ".join(excepted),
        " ".join(str(chamber) for chamber in door.unpinned),
        door.core_group,
    )


def key_rows(chart: AccessChart) -> Rows:
    """The table of keys; columns that no key fills are left out, ``under`` always stays."""
    heads, kept = _filled(_KEY_HEADS, [_key_cells(key) for key in chart.keys], stays=("under",))
    rows = [("key", *heads)]
    rows += [(key.name, *cells) for key, cells in zip(chart.keys, kept, strict=True)]
    return tuple(rows)


def _key_cells(key: Key) -> tuple[str, ...]:
    copies = "" if key.copies is None else str(key.copies)
    room = "" if key.room is None else str(key.room)
    return (key.under, copies, _STANDINGS[key.standing], key.given, key.blank, key.note, room)


def blank_rows(chart: AccessChart) -> Rows:
    """The table of keyways, or nothing when the chart has no blanks."""
    if not chart.blanks:
        return ()
    rows = [("blank", "enters")]
    rows += [(blank.name, " ".join(blank.enters)) for blank in chart.blanks]
    return tuple(rows)


def _filled(
    heads: tuple[str, ...], rows: list[tuple[str, ...]], stays: tuple[str, ...] = ()
) -> tuple[tuple[str, ...], list[tuple[str, ...]]]:
    """Heads and cells without the columns that are blank in every row."""
    kept = [
        index
        for index, head in enumerate(heads)
        if head in stays or any(row[index] for row in rows)
    ]
    return tuple(heads[i] for i in kept), [tuple(row[i] for i in kept) for row in rows]
