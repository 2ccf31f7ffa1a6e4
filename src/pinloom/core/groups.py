"""Who is under whom, read from a chart: masters, their groups, and a further door of a group.

A matrix does not say which key is a master, so it shows in the marks: a master opens every door of
several other keys, and more. Where a table of keys says who is under whom, that counts as well.
"""

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from pinloom.core.chart import AccessChart, Door, Key, KeyStanding
from pinloom.core.names import natural


def masters(chart: AccessChart) -> tuple[str, ...]:
    """Keys that another key is under, and those that open every door of several others, and more;
    in chart order.
    """
    return tuple(chart.keys[k].name for k in _masters(chart, chart.doors_of()))


def _masters(chart: AccessChart, columns: Sequence[Sequence[int]]) -> list[int]:
    named = {key.under for key in chart.keys}
    return [
        k
        for k, key in enumerate(chart.keys)
        if key.standing is KeyStanding.ACTIVE
        and (key.name in named or len(_inside(chart, columns, k)) > 1)
    ]


def _inside(chart: AccessChart, columns: Sequence[Sequence[int]], key: int) -> list[int]:
    """Keys all of whose doors a key opens, and more."""
    met = Counter(k for door in columns[key] for k in chart.openers[door])
    return [k for k, n in met.items() if n == len(columns[k]) < len(columns[key])]


def groups(chart: AccessChart) -> dict[str, int]:
    """Master -> how many change keys are right under it, for masters that have any, in chart order.

    Where the table of keys puts any key under a master, the change keys are those that it puts
    there and that are no masters. Else they are the keys with a door that no other but masters
    opens, under the smallest master that opens all their doors and more.
    """
    columns = chart.doors_of()
    above = {chart.keys[k].name: k for k in _masters(chart, columns)}
    size = dict.fromkeys(above, 0)
    opened = {m: frozenset(columns[m]) for m in above.values()}
    for k in _change_keys(chart, columns, above):
        name = chart.keys[k].under
        if name not in above:
            wider = [
                m
                for m in chart.openers[columns[k][0]]
                if m in opened and len(opened[m]) > len(columns[k]) and opened[m] >= {*columns[k]}
            ]
            if not wider:
                continue
            name = chart.keys[min(wider, key=lambda m: (len(columns[m]), m))].name
        size[name] += 1
    return {name: n for name, n in size.items() if n}


def _change_keys(
    chart: AccessChart, columns: Sequence[Sequence[int]], masters: Mapping[str, int]
) -> list[int]:
    every = set(masters.values())
    stated = [
        k
        for k, key in enumerate(chart.keys)
        if key.under in masters and columns[k] and k not in every
    ]
    if stated:
        return stated
    lower = ([k for k in row if k not in every] for row in chart.openers)
    return sorted({row[0] for row in lower if len(row) == 1})


def change_keys(chart: AccessChart, master: str) -> int:
    """Change keys of a master's group: those right under it, else all that it has below."""
    direct = groups(chart).get(master)
    if direct is not None:
        return direct
    columns = chart.doors_of()
    every = {chart.keys[k].name: k for k in _masters(chart, columns)}
    inside = set(_inside(chart, columns, chart.key_index()[master]))
    return len(inside & set(_change_keys(chart, columns, every)))


def above(chart: AccessChart, key: int) -> tuple[int, ...]:
    """A key and those above it: they open every door that it opens. Keys that the table of keys
    puts below it are not among them, though they may open as many doors.
    """
    rows = [row for row in chart.openers if key in row]
    if not rows:
        return (key,)
    everywhere = set(rows[0]).intersection(*rows[1:])
    name = chart.keys[key].name
    stated = any(chart.keys[k].under for k in everywhere)
    under = {one.name: one.under for one in chart.keys} if stated else {}

    def below(other: str) -> bool:
        seen = {other}
        while (other := under.get(other, "")) and other not in seen:
            if other == name:
                return True
            seen.add(other)
        return False

    return tuple(
        k
        for k in sorted(everywhere)
        if chart.keys[k].standing is KeyStanding.ACTIVE
        and (k == key or not below(chart.keys[k].name))
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Further:
    """A chart with further change keys, each with a door of its own. ``keys`` = their names by
    master; ``like`` = further door -> the door whose hardware it has.
    """

    chart: AccessChart
    keys: Mapping[str, tuple[str, ...]]
    like: Mapping[str, str]


def with_further(chart: AccessChart, counts: Mapping[str, int]) -> Further:
    """The chart with ``counts[master]`` further change keys under each master."""
    index = chart.key_index()
    taken = {door.name for door in chart.doors} | {key.name for key in chart.keys}
    opens = dict(chart.opens())
    doors: list[Door] = []
    keys: list[Key] = []
    names: dict[str, tuple[str, ...]] = {}
    like: dict[str, str] = {}
    for master in sorted(counts, key=natural):
        openers = tuple(chart.keys[k].name for k in above(chart, index[master]))
        usual = usual_door(chart, index[master])
        added = []
        for number in range(1, counts[master] + 1):
            name = _unused(taken, f"further key {number} under {master}")
            doors.append(replace(usual, name=name))
            keys.append(Key(name=name))
            opens[name] = (name, *openers)
            like[name] = usual.name
            added.append(name)
        names[master] = tuple(added)
    return Further(
        chart=AccessChart.build((*chart.doors, *doors), (*chart.keys, *keys), opens, chart.blanks),
        keys=names,
        like=like,
    )


def usual_door(chart: AccessChart, key: int) -> Door:
    """The first of a key's doors with the commonest hardware, bare of all that is its own."""
    doors = [chart.doors[d] for d in chart.doors_of()[key]]
    if not doors:
        return Door(name="")
    kinds = Counter(_kind(door) for door in doors)
    usual = max(doors, key=lambda door: kinds[_kind(door)])
    return Door(
        name=usual.name,
        hardware=usual.hardware,
        keyway=usual.keyway,
        unpinned=usual.unpinned,
        core_group=usual.core_group,
    )


def _kind(door: Door) -> tuple[object, ...]:
    return door.hardware, door.keyway, door.unpinned, door.core_group


def _unused(taken: set[str], name: str) -> str:
    while name in taken:
        name += "'"
    taken.add(name)
    return name
