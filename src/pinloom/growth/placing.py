"""Placing several keys into a system, one after another, each by the exact frozen question.

The key with most doors goes first. Where keys follow it, its place decides how much room is left
for them, so a spread of its possible places is tried and the roomiest for the next key are kept.
Many keys that share a master crowd each other out when each takes the place nearest to the master:
keys that differ from it in few chambers rule out most others (the largest families without
interchange differ in a middle number of chambers). So while many are left, a key takes a place of
the commonest kind instead. "Not placed" proves nothing when there is more than one key.
"""

from collections.abc import Mapping, Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from pinloom.core.bitting import Bitting, PartialBitting
from pinloom.growth.frozen import Places, places
from pinloom.growth.system import System, least_splits

SPREAD = 32  # places of the first key that are compared by the room they leave
KEPT = 3  # of these are followed to the end
FEW = 4  # keys left from which on the nearest place is taken


def place(
    system: System, order: Sequence[int], given: Mapping[str, PartialBitting]
) -> System | None:
    """The system with all keys of ``order`` placed, or None. ``given`` = fixed cuts by name."""
    if len(order) < 3:
        return _in_turn(system, order, given)
    for start in _roomy(system, order, given):
        placed = _in_turn(start, order[1:], given)
        if placed is not None:
            return placed
    return None


def with_cut(system: System, key: int, cut: Bitting) -> System:
    """The system with a key cut, and its doors pinned for their known keys."""
    cuts = (*system.cuts[:key], cut, *system.cuts[key + 1 :])
    grown = replace(system, cuts=cuts)
    splits = list(system.splits)
    for d, row in enumerate(system.chart.openers):
        if key in row:
            known = [c for k in row if (c := cuts[k]) is not None]
            splits[d] = least_splits(grown, d, known)
    return replace(grown, splits=tuple(splits))


def _in_turn(
    system: System, order: Sequence[int], given: Mapping[str, PartialBitting]
) -> System | None:
    for number, key in enumerate(order):
        found = _found(system, key, given)
        best = found.typical() if len(order) - number > FEW else found.best(1)
        if not best:
            return None
        system = with_cut(system, key, best[0])
    return system


def _roomy(
    system: System, order: Sequence[int], given: Mapping[str, PartialBitting]
) -> list[System]:
    """The system with the first key placed, in the ways that leave most room for the next."""
    found = _found(system, order[0], given)
    nearest = found.best(SPREAD // 2)
    cells = np.argwhere(found.fits)
    picked: NDArray[np.int64] | list[int] = (
        np.unique(np.linspace(0, len(cells) - 1, SPREAD).astype(np.int64)) if len(cells) else []
    )
    tries = dict.fromkeys([*nearest, *(tuple(int(v) for v in cells[i]) for i in picked)])
    ranked = []
    for number, cut in enumerate(tries):
        start = with_cut(system, order[0], cut)
        ranked.append((-_found(start, order[1], given).count, number, start))
    ranked.sort(key=lambda entry: entry[:2])
    return [start for room, _, start in ranked[:KEPT] if room < 0]


def _found(system: System, key: int, given: Mapping[str, PartialBitting]) -> Places:
    """Places that keep the cuts given for the key."""
    found = places(system, key)
    part = given.get(system.chart.keys[key].name) or ()
    for p, level in enumerate(part):
        if level is not None:
            others = np.arange(system.made.levels) != level
            index = [slice(None)] * system.made.chambers
            found.fits[(*index[:p], others)] = False
    return found
