"""The cuts that many sets of keys have in each position, by one OR a key.

Large jobs ask which levels the keys of a door have, door by door. A key is one number here: one bit
a position and level. The OR of a door's keys then holds its levels in every position, and equal
bits of a position are equal sets of levels, which whoever asks may look up instead of working out.
"""

from collections.abc import Iterable, Sequence

from pinloom.core.bitting import Bitting, Level


class CutSets:
    """The cuts of some keys, by their index. Levels count from 0."""

    def __init__(self, bittings: Sequence[Bitting]) -> None:
        self._width = max((max(levels, default=0) for levels in bittings), default=0) + 1
        self._full = (1 << self._width) - 1
        self._keys = [self._number(levels) for levels in bittings]
        self._levels: dict[int, tuple[Level, ...]] = {}

    def _number(self, levels: Bitting) -> int:
        number = 0
        for position, level in enumerate(levels):
            number |= 1 << position * self._width + level
        return number

    def of(self, keys: Iterable[int]) -> int:
        """All cuts of some keys in one number."""
        number = 0
        for key in keys:
            number |= self._keys[key]
        return number

    def at(self, number: int, positions: Iterable[int]) -> list[int]:
        """The bits of some positions of such a number, as ``levels`` takes them."""
        return [number >> position * self._width & self._full for position in positions]

    def levels(self, bits: int) -> tuple[Level, ...]:
        """The levels of a position's bits, ascending."""
        found = self._levels.get(bits)
        if found is None:
            found = tuple(level for level in range(self._width) if bits >> level & 1)
            self._levels[bits] = found
        return found
