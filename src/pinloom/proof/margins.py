"""The tightest refusal: the key and the cylinder that are kept apart by least.

A refusal is weaker the fewer chambers keep the key out (each at the least step or more), and among
equals the smaller the best of their distances.

Theory of operation. Counting chambers for all pairs uses saturating counters in bits: ``more[j]``
holds the pairs kept out by more than j chambers. Only as many counters are kept as could still beat
the best found, so after the first few cylinders there are two; when a pair is kept out by a single
chamber at the least step, nothing can be tighter and the rest is not looked at. The pair reported
is the first of the tightest in canonical order, block by block.
"""

from collections.abc import Sequence

import numpy as np

from pinloom.proof.rows import Chamber, Words, bits_of

_FAR = 1 << 30


class Tightest:
    """The weakest refusal so far. ``key`` and ``door`` are indices, None while none is known."""

    __slots__ = ("chambers", "door", "key", "steps")

    def __init__(self) -> None:
        self.chambers = _FAR
        self.steps = _FAR
        self.key: int | None = None
        self.door: int | None = None

    def look(
        self,
        lines: Sequence[Chamber],
        span: slice,
        block: Sequence[int],
        refused: Words,
        least: int,
    ) -> None:
        """Look through the refusals of one block (rows of doors, bits of keys).

        ``least`` = the cylinders' least step.
        """
        if self.chambers == 1 and self.steps <= least:
            return
        limit = min(self.chambers, len(lines))
        more = _counters(lines, span, refused, limit)
        for chambers in range(1, limit + 1):
            candidates = more[chambers - 1] & ~more[chambers]
            if candidates.any():
                if chambers < self.chambers:
                    self.chambers, self.steps = chambers, _FAR
                self._closest(lines, span, block, candidates, least)
                return

    def _closest(
        self,
        lines: Sequence[Chamber],
        span: slice,
        block: Sequence[int],
        candidates: Words,
        least: int,
    ) -> None:
        """Among pairs of one chamber count, the first whose best distance is smallest."""
        most = max(int(line.steps.max()) for line in lines)
        for steps in range(least, min(self.steps - 1, most) + 1):
            left = candidates
            for line in lines:
                left = left & line.nearer_than(steps + 1)[line.stack_of[span]]
            rows = np.flatnonzero(left.any(axis=1))
            if rows.size:
                row = int(rows[0])
                self.steps, self.door, self.key = steps, block[row], bits_of(left[row])[0]
                return


def _counters(lines: Sequence[Chamber], span: slice, refused: Words, limit: int) -> list[Words]:
    """``more[j]`` = refused pairs that more than j chambers keep out, j = 0..limit."""
    more = [np.zeros_like(refused) for _ in range(limit + 1)]
    for line in lines:
        far = refused & ~line.near[line.stack_of[span]]
        for j in range(limit, 0, -1):
            more[j] |= more[j - 1] & far
        more[0] |= far
    return more
