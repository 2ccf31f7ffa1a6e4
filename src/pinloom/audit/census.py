"""The census: for every cuttable key of the format, how many doors it opens.

Theory of operation. Walk the key space in the order of the bittings, as a tree of beginnings. A
door stays *alive* under a beginning while each of its cuts operates the door; most doors die within
two or three cuts, so each beginning hands only its living doors to the next cut. The last cuts (a
block of a few thousand keys) are settled at once in packed bits, one bit a living door: a key opens
the doors that are left after ANDing a row a cut, and the bits set are its number. A beginning
that MACS forbids is not walked; inside a block the forbidden keys are masked.

Exact, whatever the number of doors; memory is one block and the living doors of one path. The walk
is in a fixed order, so the first of equally strong keys is always the same.
"""

from collections.abc import Iterator, Sequence

import numpy as np
from numpy.typing import NDArray

from pinloom.audit.counting import neighbours
from pinloom.audit.records import Census, IncidentalKey, Reach
from pinloom.core.bitting import Bitting

Flags = NDArray[np.bool_]
Words = NDArray[np.uint64]

BLOCK = 2500  # keys settled at once, at most
TOO_MANY = 300_000_000  # key spaces beyond this (nine chambers of ten depths) are not walked
STRONGEST = 10


def census_of(
    boxes: Flags, macs: int, reach: Reach, issued: Sequence[tuple[str, Bitting]]
) -> Census | None:
    """Walk the whole key space. ``boxes``: (doors, positions, levels). None when it is too large.

    ``issued`` are the job's keys, which are never reported as incidental.
    """
    positions, levels = boxes.shape[1:]
    if levels**positions > TOO_MANY:
        return None
    walk = _Walk(boxes, macs, {bitting for _, bitting in issued})
    walk.run()
    strongest = tuple(
        _incidental(walk.bitting(number), doors, issued) for doors, number in walk.strongest
    )
    opens = tuple((doors, int(keys)) for doors, keys in enumerate(walk.histogram) if keys)
    return Census(reach=reach, opens=opens, strongest=strongest)


def doors_opened(boxes: Flags, macs: int) -> Iterator[tuple[int, NDArray[np.int32]]]:
    """The census itself, block by block: (number of the first key, doors a key; -1 = not cuttable).

    Keys are numbered as bittings in base ``levels``. Blocks that MACS forbids altogether are left
    out.
    """
    return _Walk(boxes, macs, set()).blocks()


class _Walk:
    """One walk through the key space."""

    def __init__(self, boxes: Flags, macs: int, issued: set[Bitting]) -> None:
        self.doors, self.positions, self.levels = boxes.shape
        # Flags by position and level, doors last, so that living doors are taken from the end.
        self._flags: Flags = np.ascontiguousarray(boxes.transpose(1, 2, 0))
        self._allowed = neighbours(self.levels, macs)
        self._tail = self.positions
        while self._tail > 1 and self.levels**self._tail > BLOCK:
            self._tail -= 1
        self._legal = self._legal_tails()
        self._issued = {self._number(bitting) for bitting in issued}
        self.histogram = np.zeros(self.doors + 1, dtype=np.int64)
        self.strongest: list[tuple[int, int]] = []  # (doors, number of the key)

    def run(self) -> None:
        """Fill the histogram and find the strongest incidental keys."""
        for first, counts in self.blocks():
            self.histogram += np.bincount(counts + 1, minlength=self.doors + 2)[1:]
            self._keep_strongest(first, counts)

    def blocks(self) -> Iterator[tuple[int, NDArray[np.int32]]]:
        """All blocks in the order of the bittings."""
        return self._walk((), self._flags)

    def bitting(self, number: int) -> Bitting:
        """The bitting of a key's number."""
        found = []
        for _ in range(self.positions):
            number, level = divmod(number, self.levels)
            found.append(level)
        return tuple(reversed(found))

    def _number(self, bitting: Bitting) -> int:
        number = 0
        for level in bitting:
            number = number * self.levels + level
        return number

    def _walk(self, head: Bitting, flags: Flags) -> Iterator[tuple[int, NDArray[np.int32]]]:
        """Blocks below one beginning. ``flags``: (positions left, levels, living doors)."""
        if len(head) == self.positions - self._tail:
            first = self._number(head) * self.levels**self._tail
            yield first, self._block(head, flags)
            return
        for level in range(self.levels):
            if head and not self._allowed[head[-1], level]:
                continue
            alive = np.flatnonzero(flags[0, level])
            yield from self._walk((*head, level), flags[1:].take(alive, axis=2))

    def _block(self, head: Bitting, flags: Flags) -> NDArray[np.int32]:
        """Doors opened by each key of one beginning; -1 where it cannot be cut."""
        legal = self._legal[head[-1] if head else self.levels]
        if not flags.shape[2]:
            return np.where(legal, 0, -1).astype(np.int32)
        rows = _pack(flags)
        left = rows[0]
        for row in rows[1:]:
            left = (left[:, None, :] & row[None, :, :]).reshape(-1, row.shape[1])
        counts: NDArray[np.int32] = np.bitwise_count(left).sum(axis=1, dtype=np.int32)
        counts[~legal] = -1
        return counts

    def _legal_tails(self) -> Flags:
        """(levels + 1, keys of a block): which ends may follow a last cut; the last row: any."""
        start = np.ones((1, self.levels), dtype=np.bool_)
        step: Flags = np.vstack([self._allowed, start])
        legal = np.ones((self.levels + 1, 1), dtype=np.bool_)
        last = np.arange(self.levels + 1)[:, None]
        for _ in range(self._tail):
            legal = (legal[:, :, None] & step[last]).reshape(self.levels + 1, -1)
            last = np.tile(np.arange(self.levels), (self.levels + 1, last.shape[1]))
        return legal

    def _keep_strongest(self, first: int, counts: NDArray[np.int32]) -> None:
        """Keep the keys of most doors, earlier bittings first; the job's own keys are left out."""
        full = len(self.strongest) == STRONGEST
        floor = max(self.strongest[-1][0] if full else 1, 1)
        if counts.max(initial=-1) <= floor:
            return
        candidates = np.flatnonzero(counts > floor)
        if candidates.size > 4 * STRONGEST + len(self._issued):
            order = np.argsort(-counts[candidates], kind="stable")
            candidates = candidates[order[: 4 * STRONGEST + len(self._issued)]]
        for index in candidates:
            number = first + int(index)
            if number not in self._issued:
                self.strongest.append((int(counts[index]), number))
        self.strongest.sort(key=lambda one: (-one[0], one[1]))
        del self.strongest[STRONGEST:]


def _pack(flags: Flags) -> Words:
    """Pack the doors of the last axis into 64-bit words."""
    packed = np.packbits(flags, axis=-1, bitorder="little")
    missing = -packed.shape[-1] % 8
    if missing:
        packed = np.pad(packed, [(0, 0), (0, 0), (0, missing)])
    return np.ascontiguousarray(packed).view(np.uint64)


def _incidental(
    levels: Bitting, doors: int, issued: Sequence[tuple[str, Bitting]]
) -> IncidentalKey:
    """Name the nearest key of the job: fewest other cuts, then the chart's order."""
    cuts, nearest = min(
        ((sum(a != b for a, b in zip(levels, own, strict=True)), name) for name, own in issued),
        key=lambda one: one[0],
        default=(len(levels), ""),
    )
    return IncidentalKey(levels=levels, doors=doors, cuts=cuts, nearest=nearest)
