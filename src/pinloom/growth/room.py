"""Room left: how many more change keys fit under a master with nothing touched.

A further change key comes with a door of its own that it shares with the master and the masters
above it. The frozen question (``frozen``) marks every bitting that fits by itself. Two of them fit
together when neither falls in the other's door, that is, when somewhere one is a least step away
from the other and from all the masters. Room that is kept under other masters counts as keys that
are there: it was promised.

Lower bound: kept combinations that still hold, then those of an array (``continued``) that fit and
leave the master's cut in equally many chambers, which fit together; or keys taken one after
another, each striking out what no longer fits with it, where that finds more. Exact where few
enough candidates are left for branch and bound.

Upper bound: the candidates themselves, and the theorem of the antichain. Written as "where I differ
from the master, and with what", no key with an own door may contain another; the largest such
family over P chambers with q depths besides the master's is max over c of C(P, c) q^(P - c)
(formula derived; in line with Cernoch, Kuzelka, Zelezny, "Polynomial and Extensible Solutions in
Lock-Chart Solving", Applied Artificial Intelligence 30(10), 2016). Keys that exist under the master
already are counted against it.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from math import comb

import numpy as np
from numpy.typing import NDArray

from pinloom.core.bitting import Bitting
from pinloom.core.groups import Further, above, with_further
from pinloom.core.hardware import HardwareFormat
from pinloom.core.job import Job
from pinloom.growth.continued import Array, array_of, own_keys
from pinloom.growth.frozen import Places, places
from pinloom.growth.system import System
from pinloom.growth.wanted import lay_over, system_of

MOST_EXACT = 40  # candidates up to which the answer is exact by branch and bound
FEW = 100  # fewer than this from the array: taking one after another may find more
MOST_TAKEN = 1_000  # keys taken one after another before the count stops

Table = NDArray[np.int64]
Bools = NDArray[np.bool_]


@dataclass(frozen=True, slots=True, kw_only=True)
class Room:
    """Room under one master. ``least`` keys certainly fit together, no more than ``most`` ever do;
    equal numbers are exact. ``following`` = the next ones in order, which fit together: first what
    is kept, then as the group's array goes on; another choice of keys may come to more. ``asked``
    and ``kept`` = what the design was asked for and what of it still holds.
    """

    master: str
    existing: int
    least: int
    most: int
    following: tuple[Bitting, ...]
    asked: int = 0
    kept: int = 0


def room(job: Job, master: str, show: int = 10, avoid: Sequence[Bitting] = ()) -> Room:
    """Room under a key of the job that opens several doors; ``avoid`` = cuts that no key may get.
    Raises ValueError on unknown names.
    """
    index = job.chart.key_index()
    if master not in index:
        raise ValueError(f"no key {master}")
    key, made = index[master], job.key_format
    found = _places(job, master, avoid)
    cuts, higher = job.bittings, above(job.chart, key)
    own = [cuts[k] for k in own_keys(job.chart, key, higher, job.chart.doors_of())]
    array = array_of(made, cuts[key], [cuts[k] for k in higher if k != key], own)
    masters = _rows([cuts[k] for k in higher], made)
    promised = next((one for one in job.kept if one.under == master), None)
    kept = _holding(promised.cuts if promised else (), found, masters, made)
    cap = max(0, antichain(made) - len(own))
    if found.count <= MOST_EXACT:
        largest = _exact(_rows(found.best(MOST_EXACT), made), masters, made)
        least = most = len(largest)
        taken = _joined(kept, _rows(largest, made), masters, made)
    else:
        cells = _from_array(array, found, kept, masters, made)
        taken = [*kept, *_keys(_ordered(array, cells, array.usual))]
        least = len(kept) + int(_moving(array, cells).max(initial=0))
        if least < FEW:
            others = _one_by_one(found, kept, masters, made)
            least = max(least, len(others))
            taken = taken if len(taken) > len(kept) else others
        most = max(least, min(found.count, cap))
    return Room(
        master=master,
        existing=len(own),
        least=least,
        most=most,
        following=tuple(taken[:show]),
        asked=promised.asked if promised else 0,
        kept=len(kept),
    )


def antichain(made: HardwareFormat) -> int:
    """Most change keys that one master can ever have on a format."""
    q = -(-made.levels // made.least_step) - 1
    return max(
        int(comb(made.chambers, c) * q ** (made.chambers - c)) for c in range(made.chambers + 1)
    )


def _places(job: Job, master: str, avoid: Sequence[Bitting]) -> Places:
    """Where a further key under a master may go; what is kept under others is there already."""
    others = {one.under: one.cuts for one in job.kept if one.under != master}
    counts = {name: len(cuts) for name, cuts in others.items()}
    grown = with_further(job.chart, {**counts, master: 1})
    given = dict(
        pair for name, cuts in others.items() for pair in zip(grown.keys[name], cuts, strict=True)
    )
    system = replace(_system(job, grown, given), avoid=tuple(avoid))
    return places(system, next(k for k, cut in enumerate(system.cuts) if cut is None))


def _system(job: Job, grown: Further, given: dict[str, Bitting]) -> System:
    made = {one.name: job.format_of(d) for d, one in enumerate(job.chart.doors)}
    formats = [
        made.get(grown.like.get(one.name, one.name), job.key_format) for one in grown.chart.doors
    ]
    fixed = [given.get(one.name) for one in grown.chart.keys]
    return system_of(job, lay_over(job, grown.chart, formats, fixed), formats, frozenset())


def _rows(cuts: Sequence[Bitting], made: HardwareFormat) -> Table:
    return np.array(cuts, dtype=np.int64).reshape(-1, made.chambers)


def _keys(cells: Table) -> list[Bitting]:
    return [tuple(int(v) for v in cell) for cell in cells]


def _holding(
    cuts: Sequence[Bitting], found: Places, masters: Table, made: HardwareFormat
) -> list[Bitting]:
    """Kept combinations that still fit, each with those before it."""
    taken: list[Bitting] = []
    for cut in cuts:
        one = _rows([cut], made)
        if found.fits[cut] and not _clash(one, _rows(taken, made), masters, made).any():
            taken.append(cut)
    return taken


def _joined(
    first: list[Bitting], cells: Table, masters: Table, made: HardwareFormat
) -> list[Bitting]:
    """The first keys, and after them all cells in their order that fit with them. The cells must
    fit together.
    """
    for cut in first:
        cells = cells[~_clash(_rows([cut], made), cells, masters, made)]
    return [*first, *_keys(cells)]


def _near(cells: Table, masters: Table, made: HardwareFormat) -> Bools:
    """Per key and position, whether it is nearer than the least step to some master."""
    near = np.zeros(cells.shape, dtype=np.bool_)
    for cut in masters:
        near |= np.abs(cells - cut) < made.least_step
    return near


def _clash(one: Table, cells: Table, masters: Table, made: HardwareFormat) -> Bools:
    """Which cells do not fit together with one key, shape (1, positions); itself included."""
    close = np.abs(cells - one) < made.least_step
    both: Bools = np.all(close | _near(cells, masters, made), axis=1)
    both |= np.all(close | _near(one, masters, made), axis=1)
    return both


def _from_array(
    array: Array, found: Places, kept: list[Bitting], masters: Table, made: HardwareFormat
) -> Table:
    """Bittings of the array that fit by themselves and with what is kept, in the order of the
    columns. Those that move in equally many positions fit together.
    """
    axes = [(cut, *column) for cut, column in zip(array.master, array.columns, strict=True)]
    cells = np.argwhere(found.fits[np.ix_(*axes)])
    levels = np.column_stack([np.array(axis)[cells[:, p]] for p, axis in enumerate(axes)])
    for cut in kept:
        levels = levels[~_clash(_rows([cut], made), levels, masters, made)]
    return levels


def _moving(array: Array, cells: Table) -> Table:
    """How many bittings move in 0, 1, ... positions."""
    return np.bincount(np.count_nonzero(cells != array.master, axis=1))


def _ordered(array: Array, cells: Table, usual: int) -> Table:
    """The bittings that move in as many positions as most keys of the group, in the array's order;
    where there are none, those of the number that has most.
    """
    moving = np.count_nonzero(cells != array.master, axis=1)
    if not (moving == usual).any() and len(cells):
        usual = int(np.bincount(moving).argmax())
    chosen: Table = cells[moving == usual]
    ordered: Table = chosen[np.argsort(array.rank(chosen), kind="stable")]
    return ordered


def _one_by_one(
    found: Places, kept: list[Bitting], masters: Table, made: HardwareFormat
) -> list[Bitting]:
    """What is kept, then key after key with the fewest new pins."""
    left = _rows(found.best(MOST_TAKEN * 50), made)
    taken = list(kept)
    for cut in kept:
        left = left[~_clash(_rows([cut], made), left, masters, made)]
    while len(left) and len(taken) < MOST_TAKEN:
        taken += _keys(left[:1])
        left = left[~_clash(left[:1], left, masters, made)]
    return taken


def _exact(cells: Table, masters: Table, made: HardwareFormat) -> list[Bitting]:
    """A largest set of candidates that fit together, by branch and bound."""
    clash = [_clash(cells[i : i + 1], cells, masters, made) for i in range(len(cells))]

    def most(left: list[int], sure: list[int], best: list[int]) -> list[int]:
        if len(sure) + len(left) <= len(best):
            return best
        if not left:
            return sure
        first, rest = left[0], left[1:]
        best = most([j for j in rest if not clash[first][j]], [*sure, first], best)
        return most(rest, sure, best)

    chosen = most(list(range(len(cells))), [], [])
    return _keys(cells[chosen]) if chosen else []
