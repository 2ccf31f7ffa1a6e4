"""How a group of change keys goes on: further keys in the order of the array that its keys show.

In a chamber, a further key has the cut of its master or one of a *column* of other depths, which
are a least step from each other and from every master of the door. The column begins with the
depths that the group's keys have, in the order in which they came, and goes on with the shallowest.
A house that fills an array row by row thus finds its own order again.

Theory. Of two such keys that leave the master's cut in the same number of chambers, neither opens
the other's door: it would have to agree with the other in each chamber where it leaves the
master's cut, which are as many as the other's. So such keys are looked at one by one against the
system that is there, and those that fit, fit together. The number of chambers is that of most keys
of the group, others where that has too few; chambers that its keys use come first.
"""

from collections import Counter
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import partial
from itertools import combinations, islice, product

import numpy as np
from numpy.typing import NDArray

from pinloom.core.bitting import Bitting
from pinloom.core.chart import AccessChart
from pinloom.core.groups import above, usual_door
from pinloom.core.hardware import HardwareFormat
from pinloom.core.job import Job
from pinloom.growth.further import Extension

Cells = NDArray[np.int64]  # bittings, shape (keys, positions)
BATCH = 256
MOST_TRIED = 2_048  # bittings looked at for one group and one number of chambers


@dataclass(frozen=True, slots=True, kw_only=True)
class Array:
    """``columns[p]`` = depths beside the master's in one position, in order; ``moving`` = sets of
    positions in which keys of the group leave the master's cut, in order of first use; ``usual`` =
    how many positions that is for most keys, 0 where there are none.
    """

    master: Bitting
    columns: tuple[tuple[int, ...], ...]
    moving: tuple[tuple[int, ...], ...]
    usual: int

    def rank(self, cells: Cells) -> Cells:
        """Where each bitting stands among those that move in equally many positions."""
        known = {positions: n for n, positions in enumerate(self.moving)}
        moved = [tuple(int(p) for p in np.flatnonzero(row)) for row in cells != self.master]
        return np.array([known.get(one, len(known)) for one in moved], dtype=np.int64)


def array_of(
    made: HardwareFormat, master: Bitting, others: Sequence[Bitting], own: Sequence[Bitting]
) -> Array:
    """The array of a group. ``others`` = further keys above, ``own`` = its keys in their order."""
    columns = []
    for p, cut in enumerate(master):
        barred = {cut, *(other[p] for other in others)}
        column: list[int] = []
        for level in (*(key[p] for key in own), *range(made.levels)):
            if all(abs(level - taken) >= made.least_step for taken in (*barred, *column)):
                column.append(level)
        columns.append(tuple(column))
    moved = [tuple(p for p, cut in enumerate(key) if cut != master[p]) for key in own]
    sizes = Counter(len(positions) for positions in moved)
    return Array(
        master=master,
        columns=tuple(columns),
        moving=tuple(dict.fromkeys(moved)),
        usual=max(sizes, key=lambda size: (sizes[size], size), default=0),
    )


def own_keys(
    chart: AccessChart, key: int, higher: Sequence[int], columns: Sequence[Sequence[int]]
) -> tuple[int, ...]:
    """Keys with a door of their own below a master, in chart order: among the lightest keys of the
    master's doors, those with a door that no other of them opens. ``higher`` = the master and those
    above, ``columns`` = the doors of every key.
    """
    lightest: set[int] = set()
    for door in columns[key]:
        lower = [k for k in chart.openers[door] if k not in higher]
        least = min((len(columns[k]) for k in lower), default=0)
        lightest |= {k for k in lower if len(columns[k]) == least}
    own: set[int] = set()
    for door in columns[key]:
        met = lightest.intersection(chart.openers[door])
        own |= met if len(met) == 1 else set()
    return tuple(sorted(own))


def first_that_fit(job: Job, wanted: Mapping[str, int]) -> dict[str, tuple[Bitting, ...]]:
    """Cuts for at most ``wanted[master]`` further change keys that certainly fit together, each
    group by itself.

    Quick and one-sided: fewer than wanted may only mean that few bittings were looked at.
    """
    chart, index, arrays = job.chart, job.chart.key_index(), Arrays(job, Extension(job))
    found = {}
    for name, most in wanted.items():
        key = index[name]
        cores = usual_door(chart, key).core_group
        found[name] = tuple(arrays.following(key, above(chart, key), most, core_group=cores))
    return found


class Arrays:
    """A job whose groups go on as arrays, asked of what is there."""

    def __init__(self, job: Job, extension: Extension) -> None:
        self._job, self._extension = job, extension
        self._columns = job.chart.doors_of()

    def following(
        self, key: int, higher: Sequence[int], most: int, *, core_group: str = ""
    ) -> list[Bitting]:
        """Cuts of at most ``most`` further keys under a master that fit together; ``higher`` = it
        and those above.
        """
        made, cuts = self._job.key_format, self._job.bittings
        own = [cuts[k] for k in own_keys(self._job.chart, key, higher, self._columns)]
        array = array_of(made, cuts[key], [cuts[k] for k in higher if k != key], own)
        free = partial(self._extension.fitting, masters=higher, core_group=core_group)
        best: list[Bitting] = []
        middle = array.usual or (made.chambers + 1) // 2
        for moving in sorted(range(1, made.chambers + 1), key=lambda n: (abs(n - middle), n)):
            if len(best) < most:
                best = max(best, _first(in_order(array, moving), free, most), key=len)
        return best[:most]


def _first(tried: Iterator[Bitting], free: Callable[[Cells], Cells], most: int) -> list[Bitting]:
    """The first free bittings in order, until there are enough or enough were looked at."""
    found: list[Bitting] = []
    for _ in range(MOST_TRIED // BATCH):
        cells = np.array(list(islice(tried, BATCH)), dtype=np.int64)
        if not len(cells) or len(found) >= most:
            break
        found += [tuple(int(v) for v in cell) for cell in free(cells)]
    return found


def in_order(array: Array, moving: int) -> Iterator[Bitting]:
    """The bittings that leave the master's cut in so many positions, in the array's order."""
    places = [one for one in array.moving if len(one) == moving]
    places += [
        one for one in combinations(range(len(array.master)), moving) if one not in set(places)
    ]
    return (
        bitting
        for chosen in places
        for bitting in product(
            *(array.columns[p] if p in chosen else (cut,) for p, cut in enumerate(array.master))
        )
    )
