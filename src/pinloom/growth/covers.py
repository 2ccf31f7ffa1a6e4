"""Which keys must be cut anew so that pins can shut a lost key out, and what that costs at least.

Theory. A door splits on the cuts of its keys, position by position. It admits the lost copy exactly
when in every position some key of the door is nearer to the copy's cut than the least step. To shut
the copy out of a door, some position must be cleared: all keys of the door that are near the copy
there get other cuts in that position. So each exposed door asks for one of a few sets of keys (a
*cover* a position), and a set of keys to cut anew is a way if it holds a cover of every door. The
lost symbol's own new cuts are free.

Bounds. (a) Every exposed cylinder is pinned anew. (b) A key that is cut anew needs new pins in all
its doors except those whose pins on the wall happen to admit its new cuts; over the whole key space
the best new cuts leave a number of doors that is counted exactly (``must_repin``). (c) The price of
a covering set: each key's price is shared out equally to the doors that name it in a cover; the
cheapest cover of each door by these shares, summed, is no more than the price of any way. (b) and
(c) join by cases: a way whose dearest key by (b) is k pays k's doors, and covers with keys no
dearer than k.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from itertools import product

import numpy as np

from pinloom.core.bitting import Bitting
from pinloom.core.chart import KeyStanding
from pinloom.growth.frozen import inactive_positions
from pinloom.growth.system import System

MOST_CELLS = 200_000  # bittings of one door's pins that are listed for a bound
Cover = frozenset[int]
NEVER = float("inf")


@dataclass(frozen=True, slots=True, kw_only=True)
class Clash:
    """A door that admits the lost copy however it is pinned; one of ``covers`` must be cut anew.

    ``at[i]`` = the position that ``covers[i]`` clears.
    """

    door: int
    covers: tuple[Cover, ...]
    at: tuple[int, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Way:
    """A set of keys that holds a cover of every clash. ``title`` says which idea it follows."""

    title: str
    keys: Cover


def clashes_with(system: System, copy: Bitting, doors: Iterable[int]) -> list[Clash]:
    """The doors among ``doors`` that pins alone cannot close to these cuts. Keys without cuts in
    the system are free.
    """
    found = []
    step = system.made.least_step
    for door in doors:
        closed = set(inactive_positions(system, door))
        keys = [(k, cut) for k in system.chart.openers[door] if (cut := system.cuts[k]) is not None]
        sets = [
            (frozenset(k for k, cut in keys if abs(cut[p] - copy[p]) < step), p)
            for p in range(system.made.chambers)
            if p not in closed
        ]
        if all(cover for cover, _ in sets):
            found.append(
                Clash(door=door, covers=tuple(c for c, _ in sets), at=tuple(p for _, p in sets))
            )
    return found


def holds(keys: Cover, clashes: Iterable[Clash]) -> bool:
    """Whether a set of keys holds a cover of every clash."""
    return all(any(cover <= keys for cover in clash.covers) for clash in clashes)


class Figures:
    """What cutting a key anew costs: ``pieces[k]`` for its copies, ``pins[d]`` for a door that is
    not pinned anew anyhow (0 for those that are).
    """

    def __init__(self, system: System, pieces: Mapping[int, float], pins: Sequence[float]) -> None:
        self.system = system
        self.pieces = pieces
        self.pins = pins
        self.columns = system.chart.doors_of()

    def price(self, keys: Iterable[int]) -> float:
        """Of cutting all of these anew, every door of theirs pinned anew."""
        chosen = set(keys)
        doors = {d for k in chosen for d in self.columns[k]}
        return sum(self.pieces[k] for k in chosen) + sum(self.pins[d] for d in doors)


def ways(figures: Figures, clashes: Sequence[Clash], exposed: Cover) -> list[Way]:
    """Ways worth trying, cheapest first: the least by a greedy choice, and the same under a wish:
    one position cleared everywhere, no key that reaches beyond the exposed doors, only such keys.
    """
    if not clashes:
        return [Way(title="alone", keys=frozenset())]
    columns = figures.columns
    system = figures.system
    inner = frozenset(k for k, row in enumerate(columns) if row and set(row) <= exposed)
    fixed = frozenset(
        k for k, key in enumerate(system.chart.keys) if key.standing is KeyStanding.RETIRED
    )
    everything = frozenset(range(len(columns))) - fixed
    wishes: list[tuple[str, Cover, int | None]] = [("cheapest", everything, None)]
    wishes += [("below", inner, None), ("above", everything - inner, None)]
    wishes += [("cheapest", everything, p) for p in range(system.made.chambers)]
    found: dict[Cover, Way] = {}
    for title, allowed, position in wishes:
        chosen = _greedy(figures, clashes, allowed, position)
        if chosen is not None:
            found.setdefault(chosen, Way(title=title, keys=chosen))
    ranked = sorted(found.values(), key=lambda way: (figures.price(way.keys), sorted(way.keys)))
    return [_named(way, inner) for way in ranked]


def _named(way: Way, inner: Cover) -> Way:
    if way.keys <= inner:
        return Way(title="below", keys=way.keys)
    if not way.keys & inner:
        return Way(title="above", keys=way.keys)
    return Way(title="both", keys=way.keys)


def _greedy(
    figures: Figures, clashes: Sequence[Clash], allowed: Cover, position: int | None
) -> Cover | None:
    chosen: Cover = frozenset()
    spent = 0.0
    order = sorted(clashes, key=lambda c: (-min(map(len, c.covers)), c.door))
    for clash in order:
        best: tuple[bool, float, int, Cover] | None = None
        for cover, at in zip(clash.covers, clash.at, strict=True):
            if cover <= allowed:
                rank = (at != position, figures.price(chosen | cover) - spent, at, cover)
                best = rank if best is None or rank[:3] < best[:3] else best
        if best is None:
            return None
        chosen |= best[3]
        spent = figures.price(chosen)
    for key in sorted(chosen, key=lambda k: (-figures.price((k,)), k)):
        if holds(chosen - {key}, clashes):
            chosen -= {key}
    return chosen


def must_repin(system: System, key: int, doors: Sequence[int], weights: Sequence[int]) -> int:
    """Cylinders among ``doors`` (doors of the key) that need new pins whatever its new cuts are.

    Exact: the most weight of doors whose pins on the wall admit one and the same other bitting. 0
    where a door admits too many to list.
    """
    cells: dict[Bitting, int] = {}
    total = 0
    for door, weight in zip(doors, weights, strict=True):
        total += weight
        splits = system.field[door] if system.field else None
        if splits is None:
            continue
        levels = [split or tuple(range(system.made.levels)) for split in splits]
        if np.prod([float(len(split)) for split in levels]) > MOST_CELLS:
            return 0
        for cell in product(*levels):
            cells[cell] = cells.get(cell, 0) + weight
    own = system.cuts[key]
    kept = max((weight for cell, weight in cells.items() if cell != own), default=0)
    return total - kept


@dataclass(frozen=True, slots=True, kw_only=True)
class Least:
    """What no plan can go below: keys beside the lost one and their price, and cylinders beside the
    exposed ones. The three hold one by one and, as ``price`` of pieces and ``minutes`` together, at
    once.
    """

    keys: int
    cylinders: int
    minutes: float  # pieces and cylinders beyond the exposed ones, together


def least(
    figures: Figures,
    clashes: Sequence[Clash],
    beyond: Sequence[Sequence[int]],
    per_cylinder: float,
) -> Least:
    """The bounds of this file. ``beyond[k]`` = doors of a key that are not exposed."""
    if not clashes:
        return Least(keys=0, cylinders=0, minutes=0.0)
    system = figures.system
    count = [door.count for door in system.chart.doors]
    named = sorted({k for clash in clashes for cover in clash.covers for k in cover})
    repin = {
        k: must_repin(system, k, beyond[k], [count[d] for d in beyond[k]]) if beyond[k] else 0
        for k in named
    }
    keys, cylinders, minutes = NEVER, NEVER, NEVER
    for most in sorted(set(repin.values())):
        allowed = frozenset(k for k in named if repin[k] <= most)
        pieces = _shared(clashes, allowed, figures.pieces)
        if pieces == NEVER:
            continue
        keys = min(keys, _shared(clashes, allowed, dict.fromkeys(named, 1.0)))
        cylinders = min(cylinders, most)
        minutes = min(minutes, pieces + per_cylinder * most)
    if minutes == NEVER:
        return Least(keys=0, cylinders=0, minutes=0.0)
    return Least(keys=int(np.ceil(keys - 1e-6)), cylinders=int(cylinders), minutes=float(minutes))


def _shared(clashes: Sequence[Clash], allowed: Cover, price: Mapping[int, float]) -> float:
    """Bound (c) with keys in ``allowed`` only; infinite where some door has no such cover."""
    named: dict[int, int] = {}
    for clash in clashes:
        for k in {k for cover in clash.covers for k in cover if cover <= allowed}:
            named[k] = named.get(k, 0) + 1
    total = 0.0
    for clash in clashes:
        shares = [
            sum(price[k] / named[k] for k in cover) for cover in clash.covers if cover <= allowed
        ]
        if not shares:
            return NEVER
        total += min(shares)
    return total
