"""Cross-keyed doors and selective masters, read from a chart alone.

Words. In a plain hierarchy the keys of a door are nested: each opens all that the one below it
opens. A door is *cross-keyed* when none of its keys lies below all the others: keys of different
holders work it side by side. Shared entrances are cross-keyed in this sense; they cost the same
pins.

A *master* here is a key that opens, cross-keyed doors aside, at least two doors that a narrower key
opens as well. Two masters *cut across* each other when their doors overlap and neither holds the
other. The *selective* masters are those to take out until none cut across: most crossings first,
then the fewest doors, then the later name. This reading is ours; A156.28 is cited for its advice.
"""

from collections import Counter
from itertools import combinations

from pinloom.core.chart import AccessChart, KeyStanding


def cross_keyed(chart: AccessChart) -> tuple[int, ...]:
    """Doors with keys side by side, ascending."""
    active = _active(chart)
    sets = [frozenset(doors) for doors in chart.doors_of()]
    nested = _Nested(sets)
    found = []
    for door, openers in enumerate(chart.openers):
        mine = sorted(
            (key for key in openers if active[key]), key=lambda key: (len(sets[key]), key)
        )
        # Keys of equal doors are one key twice, so either may be the one below.
        if any(not nested.inside(mine[0], other) for other in mine[1:]):
            found.append(door)
    return tuple(found)


def selective_masters(chart: AccessChart) -> tuple[int, ...]:
    """Masters that cut across others, ascending."""
    shared = set(cross_keyed(chart))
    active = _active(chart)
    sets = [frozenset(doors) - shared for doors in chart.doors_of()]
    rows = [
        [key for key in openers if active[key]] if door not in shared else []
        for door, openers in enumerate(chart.openers)
    ]
    below: Counter[int] = Counter()
    for row in rows:
        least = min((len(sets[key]) for key in row), default=0)
        below.update(key for key in row if len(sets[key]) > least)
    masters = {key for key, doors in below.items() if doors >= 2}
    overlap: Counter[tuple[int, int]] = Counter()
    for row in rows:
        overlap.update(combinations([key for key in row if key in masters], 2))
    crossing: dict[int, set[int]] = {key: set() for key in masters}
    for (one, other), doors in overlap.items():
        if doors < min(len(sets[one]), len(sets[other])):
            crossing[one].add(other)
            crossing[other].add(one)
    return tuple(sorted(_taken_out(crossing, sets)))


def _taken_out(crossing: dict[int, set[int]], sets: list[frozenset[int]]) -> list[int]:
    """Keys to take out, one by one, until no two cut across each other."""
    taken = []
    while any(crossing.values()):
        worst = max(crossing, key=lambda key: (len(crossing[key]), -len(sets[key]), key))
        for other in crossing.pop(worst):
            crossing[other].discard(worst)
        taken.append(worst)
    return taken


def _active(chart: AccessChart) -> list[bool]:
    return [key.standing is KeyStanding.ACTIVE for key in chart.keys]


class _Nested:
    """Remembers which sets lie inside which: a chart asks the same few questions door by door."""

    def __init__(self, sets: list[frozenset[int]]) -> None:
        self._sets = sets
        self._known: dict[tuple[int, int], bool] = {}

    def inside(self, small: int, large: int) -> bool:
        pair = (small, large)
        if pair not in self._known:
            self._known[pair] = self._sets[small] <= self._sets[large]
        return self._known[pair]
