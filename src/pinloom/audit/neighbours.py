"""Margins: for each key and each door it must not open, what keeps it out.

Rule. A chamber keeps a key out when the cut is the cylinder's least step or more from the nearest
joint. The margin of a refusal is the number of such chambers, and the steps of the best of them:
one chamber by one least step is the weakest refusal there is. Were the least step one larger (wear,
or a cylinder looser than its format says), the refusals whose best chamber has no more than the
least step would be openings.

Theory of operation. Doors with equal stacks at a position share a row of distances over all keys;
blocks of doors copy these rows and fold them into two byte arrays, chambers that keep out and the
best distance. Nothing is kept of a block but counts and the weakest pairs by name.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from pinloom.audit.boxes import Boxes, distinct
from pinloom.audit.records import Fragile, Neighbour, Neighbours
from pinloom.core.bitting import Bitting
from pinloom.core.chart import AccessChart, KeyStanding

Bytes = NDArray[np.uint8]

CELLS = 4_000_000  # pairs of one block
LISTED = 20
_WIDTH = 256  # codes of margins: chambers * _WIDTH + steps


@dataclass(frozen=True, slots=True, kw_only=True)
class Pairs:
    """The pairs of some doors and all keys; arrays are (doors, keys).

    ``chambers`` = how many keep the key out, 0 where it opens; ``steps`` = the best distance, with
    ``opens`` where every cut is nearer than the least step. ``refused`` = pairs that shall not open
    and do not; a key whose blank cannot enter is not among them.
    """

    doors: range
    chambers: Bytes
    steps: Bytes
    opens: NDArray[np.bool_]
    refused: NDArray[np.bool_]


def all_pairs(chart: AccessChart, boxes: Boxes, bittings: Sequence[Bitting]) -> Iterator[Pairs]:
    """All doors by all keys, in blocks of doors in the order of the chart."""
    keys = len(chart.keys)
    rows: list[tuple[Bytes, NDArray[np.intp]]] = []
    for position in range(boxes.steps.shape[1]):
        levels, numbers = distinct(boxes.steps, position)
        cuts = np.array([bitting[position] for bitting in bittings], dtype=np.intp)
        rows.append((levels[:, cuts], numbers))
    enters = _Entering(chart)
    active = np.array([key.standing is KeyStanding.ACTIVE for key in chart.keys], dtype=np.bool_)
    size = max(1, CELLS // max(keys, 1))
    for start in range(0, len(chart.doors), size):
        doors = range(start, min(start + size, len(chart.doors)))
        least = boxes.least[doors.start : doors.stop, None]
        chambers = np.zeros((len(doors), keys), dtype=np.uint8)
        steps = np.zeros((len(doors), keys), dtype=np.uint8)
        for distances, numbers in rows:
            here = distances[numbers[doors.start : doors.stop]]
            chambers += here >= least
            np.maximum(steps, here, out=steps)
        enter = enters.rows(doors)
        shall = np.zeros((len(doors), keys), dtype=np.bool_)
        for row, door in enumerate(doors):
            shall[row, list(chart.openers[door])] = True
        opens = (chambers == 0) & enter
        readable = boxes.readable[doors.start : doors.stop, None]
        yield Pairs(
            doors=doors,
            chambers=chambers,
            steps=steps,
            opens=opens & readable,
            refused=(chambers > 0) & enter & readable & ~(shall & active),
        )


class _Entering:
    """Which keys can enter the keyway of a door."""

    def __init__(self, chart: AccessChart) -> None:
        self._chart = chart
        self._known: dict[str, NDArray[np.bool_]] = {}

    def rows(self, doors: range) -> NDArray[np.bool_]:
        return np.stack([self._row(door) for door in doors])

    def _row(self, index: int) -> NDArray[np.bool_]:
        door = self._chart.doors[index]
        if door.keyway not in self._known:
            self._known[door.keyway] = np.array(
                [self._chart.enters(key, door) for key in self._chart.keys], dtype=np.bool_
            )
        return self._known[door.keyway]


@dataclass(slots=True)
class Tally:
    """Counts over all blocks, and the weakest pairs by index."""

    chart: AccessChart
    least: Bytes
    histogram: NDArray[np.int64] = field(
        default_factory=lambda: np.zeros(_WIDTH * _WIDTH, dtype=np.int64)
    )
    weakest: list[tuple[int, int, int]] = field(default_factory=list)  # (code, door, key)
    wear: list[tuple[int, int, int]] = field(default_factory=list)
    one_step_more: int = 0
    fragile: list[tuple[int, int]] = field(default_factory=list)  # (door, keys)

    def add(self, pairs: Pairs) -> None:
        """Fold in one block."""
        codes = pairs.chambers.astype(np.int32) * _WIDTH + pairs.steps
        codes[~pairs.refused] = 0
        counts = np.bincount(codes.reshape(-1), minlength=_WIDTH * _WIDTH)
        counts[0] = 0
        self.histogram += counts
        self._weakest_of(codes, counts, pairs.doors)
        least = self.least[pairs.doors.start : pairs.doors.stop, None]
        at_least = pairs.refused & (pairs.steps == least)
        self.one_step_more += int(np.count_nonzero(at_least))
        self._wear_of(codes, at_least, pairs.doors)
        alone = np.count_nonzero(at_least & (pairs.chambers == 1), axis=1)
        self.fragile += [
            (pairs.doors[row], int(alone[row])) for row in map(int, np.flatnonzero(alone))
        ]

    def result(self) -> Neighbours:
        """Everything by name, weakest first."""
        codes = [int(code) for code in np.flatnonzero(self.histogram)]
        return Neighbours(
            pairs=int(self.histogram.sum()),
            margins=tuple(
                (code // _WIDTH, code % _WIDTH, int(self.histogram[code])) for code in codes
            ),
            weakest=tuple(self._named(one) for one in self.weakest),
            fragile=tuple(
                Fragile(door=self.chart.doors[door].name, keys=keys) for door, keys in self.fragile
            ),
            one_step_more=self.one_step_more,
            wear=tuple(self._named(one) for one in self.wear),
        )

    def _weakest_of(
        self, codes: NDArray[np.int32], counts: NDArray[np.int64], doors: range
    ) -> None:
        wanted = LISTED
        for code in map(int, np.flatnonzero(counts)):
            if wanted <= 0 or (len(self.weakest) == LISTED and code >= self.weakest[-1][0]):
                break
            found = np.argwhere(codes == code)[:wanted]
            self.weakest += [(code, doors[int(row)], int(key)) for row, key in found]
            wanted -= len(found)
        self.weakest.sort()
        del self.weakest[LISTED:]

    def _wear_of(self, codes: NDArray[np.int32], at_least: NDArray[np.bool_], doors: range) -> None:
        missing = LISTED - len(self.wear)
        if missing > 0:
            found = np.argwhere(at_least)[:missing]
            self.wear += [(int(codes[r, k]), doors[int(r)], int(k)) for r, k in found]

    def _named(self, one: tuple[int, int, int]) -> Neighbour:
        code, door, key = one
        return Neighbour(
            key=self.chart.keys[key].name,
            door=self.chart.doors[door].name,
            chambers=code // _WIDTH,
            steps=code % _WIDTH,
        )
