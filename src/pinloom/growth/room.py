"""Room left: how many more change keys fit under a master with nothing touched.

A further change key comes with a door of its own that it shares with the master and the masters
above it. The frozen question (``frozen``) marks every bitting that fits by itself. Two of them fit
together when neither falls in the other's door, that is, when somewhere one is a least step away
from the other and from all the masters.

Lower bound: keys taken one after another, each striking out what no longer fits with it. Exact
where few enough candidates are left for branch and bound. Upper bound: the candidates themselves,
and the theorem of the antichain. Written as "where I differ from the master, and with what", no key
with an own door may contain another; the largest such family over P chambers with q depths besides
the master's is max over c of C(P, c) q^(P - c) (formula derived; in line with Cernoch, Kuzelka,
Zelezny, "Polynomial and Extensible Solutions in Lock-Chart Solving", Applied Artificial
Intelligence 30(10), 2016). Keys that exist under the master already are counted against it.
"""

from dataclasses import dataclass
from math import comb

import numpy as np
from numpy.typing import NDArray

from pinloom.core.bitting import Bitting
from pinloom.core.chart import AccessChart, Door, Key, KeyStanding
from pinloom.core.hardware import HardwareFormat
from pinloom.core.job import Job
from pinloom.growth.frozen import places
from pinloom.growth.system import System
from pinloom.growth.wanted import lay_over, system_of

MOST_EXACT = 40  # candidates up to which the answer is exact by branch and bound
MOST_TAKEN = 3_000  # keys taken one after another before the count stops

Table = NDArray[np.int64]


@dataclass(frozen=True, slots=True, kw_only=True)
class Room:
    """Room under one master. ``least`` keys certainly fit together, no more than ``most`` ever do;
    equal numbers are exact. ``following`` = the next ones in order, fewest new pins first.
    """

    master: str
    existing: int
    least: int
    most: int
    following: tuple[Bitting, ...]


def room(job: Job, master: str, show: int = 10) -> Room:
    """Room under a key of the job that opens several doors. Raises ValueError on unknown names."""
    index = job.chart.key_index()
    if master not in index:
        raise ValueError(f"no key {master}")
    key = index[master]
    system, above = _with_new_door(job, key)
    found = places(system, next(k for k, cut in enumerate(system.cuts) if cut is None))
    cells = np.array(found.best(MOST_TAKEN * 50), dtype=np.int64).reshape(
        -1, job.key_format.chambers
    )
    masters = np.array([job.bittings[k] for k in above], dtype=np.int64)
    near = _near_masters(cells, masters, job.key_format)
    taken = _greedy(cells, near, job.key_format)
    existing = _existing(job.chart, key)
    cap = antichain(job.key_format) - existing
    most = max(0, min(found.count, cap))
    least = len(taken)
    if found.count <= MOST_EXACT:
        least = most = _exact(cells, near, job.key_format)
    return Room(
        master=master,
        existing=existing,
        least=least,
        most=max(least, most),
        following=tuple(tuple(int(v) for v in cells[i]) for i in taken[:show]),
    )


def antichain(made: HardwareFormat) -> int:
    """Most change keys that one master can ever have on a format."""
    q = -(-made.levels // made.least_step) - 1
    return max(
        int(comb(made.chambers, c) * q ** (made.chambers - c)) for c in range(made.chambers + 1)
    )


def _with_new_door(job: Job, key: int) -> tuple[System, tuple[int, ...]]:
    """The system with one more door and key under a master; and the masters of that door."""
    chart = job.chart
    columns = [set(doors) for doors in chart.doors_of()]
    above = tuple(
        k
        for k, doors in enumerate(columns)
        if columns[key] <= doors and chart.keys[k].standing is KeyStanding.ACTIVE
    )
    door = Door(name=_unused({one.name for one in chart.doors}, "further door"))
    new = Key(name=_unused({one.name for one in chart.keys}, "further key"))
    opens = {**chart.opens(), door.name: (new.name, *(chart.keys[k].name for k in above))}
    grown = AccessChart.build((*chart.doors, door), (*chart.keys, new), opens, chart.blanks)
    made = {one.name: job.format_of(d) for d, one in enumerate(chart.doors)}
    formats = [made.get(one.name, job.key_format) for one in grown.doors]
    return system_of(job, lay_over(job, grown, formats), formats, frozenset()), above


def _unused(taken: set[str], name: str) -> str:
    while name in taken:
        name += "'"
    return name


def _near_masters(cells: Table, masters: Table, made: HardwareFormat) -> NDArray[np.bool_]:
    """Per candidate and position, whether it is nearer than the least step to some master."""
    near = np.zeros(cells.shape, dtype=np.bool_)
    for cut in masters:
        near |= np.abs(cells - cut) < made.least_step
    return near


def _clash(
    i: int, cells: Table, near: NDArray[np.bool_], made: HardwareFormat
) -> NDArray[np.bool_]:
    """Candidates that do not fit together with candidate i (itself included)."""
    close = np.abs(cells - cells[i]) < made.least_step
    both: NDArray[np.bool_] = np.all(close | near, axis=1) | np.all(close | near[i], axis=1)
    return both


def _greedy(cells: Table, near: NDArray[np.bool_], made: HardwareFormat) -> list[int]:
    left = np.arange(len(cells))
    taken: list[int] = []
    while len(left) and len(taken) < MOST_TAKEN:
        taken.append(int(left[0]))
        left = left[~_clash(0, cells[left], near[left], made)]
    return taken


def _exact(cells: Table, near: NDArray[np.bool_], made: HardwareFormat) -> int:
    """Largest set of candidates that fit together, by branch and bound."""
    clash = [_clash(i, cells, near, made) for i in range(len(cells))]

    def most(left: list[int], sure: int, best: int) -> int:
        if sure + len(left) <= best:
            return best
        if not left:
            return sure
        first, rest = left[0], left[1:]
        best = most([j for j in rest if not clash[first][j]], sure + 1, best)
        return most(rest, sure, best)

    return most(list(range(len(cells))), 0, 0)


def _existing(chart: AccessChart, key: int) -> int:
    """Keys with a door of their own below a master: no two of them may lie in each other's door."""
    columns = [set(doors) for doors in chart.doors_of()]
    own: set[int] = set()
    for door in columns[key]:
        lower = [k for k in chart.openers[door] if not columns[key] <= columns[k]]
        if len(lower) == 1:
            own.add(lower[0])
    return len(own)
