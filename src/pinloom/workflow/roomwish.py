"""What room is asked for: in the chart's column ``room``, with ``--room``, or as the usual wish.

A wish for one master goes before one for every group. Two wishes for the same master that differ
are a fault, wherever they stand: neither is dropped in silence. A group that nobody asked for is
looked at by the usual wish, which changes no design.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from pinloom.core.chart import AccessChart
from pinloom.core.findings import Finding, fault
from pinloom.core.groups import change_keys, groups, masters
from pinloom.core.room import USUAL, RoomWish, read_wish

EVERY = "every group"


@dataclass(frozen=True, slots=True, kw_only=True)
class Wishes:
    """``asked`` = wishes by master, ``counts`` = further keys that they come to, without those that
    come to none; ``usual`` = further keys of the usual wish for groups that nobody asked for;
    ``keys`` = change keys by master.
    """

    asked: Mapping[str, RoomWish]
    counts: Mapping[str, int]
    usual: Mapping[str, int]
    keys: Mapping[str, int]


def settle_wishes(chart: AccessChart, options: Sequence[str]) -> tuple[Wishes, tuple[Finding, ...]]:
    """The wishes of a chart and a command line. ``options`` = ``KEY=30``, ``KEY=30%``, or a wish
    alone for every group. Every fault is told; the wishes count only without one.
    """
    found: list[Finding] = []
    known, whole = set(masters(chart)), groups(chart)
    single = {key.name: key.room for key in chart.keys if key.room is not None}
    every: RoomWish | None = None
    for text in options:
        name, mark, number = text.rpartition("=")
        name, wish = name.strip(), read_wish(number)
        if wish is None:
            found.append(fault("room-unreadable", text=text[:60]))
        elif not mark:
            found += _twice(EVERY, every, wish)
            every = wish
        elif name not in chart.key_index():
            found.append(fault("room-unknown", key=name))
        elif name not in known and wish.number:
            found.append(fault("room-no-master", key=name))
        else:
            found += _twice(name, single.get(name), wish)
            single[name] = wish
    if every is not None:
        single = dict.fromkeys(whole, every) | single
    keys = whole | {n: change_keys(chart, n) for n in single if n in known and n not in whole}
    counts = {name: wish.of(keys[name]) for name, wish in _in_order(chart, single) if name in keys}
    usual = {name: USUAL.of(n) for name, n in whole.items() if name not in single}
    wishes = Wishes(
        asked=dict(_in_order(chart, single)),
        counts={name: n for name, n in counts.items() if n},
        usual=usual,
        keys=keys,
    )
    return wishes, tuple(found)


def _in_order(chart: AccessChart, wishes: Mapping[str, RoomWish]) -> Iterable[tuple[str, RoomWish]]:
    return ((key.name, wishes[key.name]) for key in chart.keys if key.name in wishes)


def _twice(name: str, before: RoomWish | None, wish: RoomWish) -> Iterable[Finding]:
    if before is not None and before != wish:
        yield fault("room-twice", key=name, one=str(before), other=str(wish))
