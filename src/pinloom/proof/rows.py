"""Packed rows of keys: one bit a key, so that one AND settles 64 keys in one chamber at once.

For every cut position and level there is a row of the keys that carry it. The row of the keys that
pass a stack is the OR of the levels that pass; the row of a cylinder is the AND of its chambers.
Cylinders share the rows of equal stacks, never a verdict: each is put together from its own pins.

Two tables a chamber, one for each rule of opening: *on* (distance 0) and *near* (nearer than the
least step). ``steps`` keeps the distances themselves for the margins.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from pinloom.core.bitting import Bitting
from pinloom.core.lengths import Nanometres
from pinloom.core.stacks import PinnedCylinder, PinStack
from pinloom.proof.lift import Fit, offsets, passes, steps_off

Words = NDArray[np.uint64]
WORD = 64


def words_for(bits: int) -> int:
    """How many 64-bit words hold that many bits (at least one)."""
    return max(1, -(-bits // WORD))


def pack(flags: NDArray[np.bool_]) -> Words:
    """Pack the last axis: bit k of word w is flag 64 w + k; the tail is zero."""
    packed = np.packbits(flags, axis=-1, bitorder="little")
    wanted = words_for(flags.shape[-1]) * 8
    room = [(0, 0)] * (flags.ndim - 1) + [(0, wanted - packed.shape[-1])]
    return np.ascontiguousarray(np.pad(packed, room)).view("<u8").astype(np.uint64, copy=False)


def with_bits(rows: NDArray[np.int64], bits: NDArray[np.int64], count: int, width: int) -> Words:
    """``count`` rows of ``width`` bits with bit ``bits[i]`` of row ``rows[i]`` set."""
    words = np.zeros((count, words_for(width)), dtype=np.uint64)
    where = rows * words.shape[1] + bits // WORD
    values = np.uint64(1) << (bits % WORD).astype(np.uint64)
    np.bitwise_or.at(words.reshape(-1), where, values)
    return words


def bits_of(row: Words) -> list[int]:
    """Indices of the set bits of one row, ascending."""
    flags = np.unpackbits(row.astype("<u8", copy=False).view(np.uint8), bitorder="little")
    return [int(i) for i in np.flatnonzero(flags)]


def first_bit(row: Words) -> int:
    """Index of the first set bit of a row that has one."""
    word = int(np.flatnonzero(row)[0])
    value = int(row[word])
    return word * WORD + (value & -value).bit_length() - 1


def has(row: Words, bit: int) -> bool:
    """Whether one bit of one row is set."""
    return bool(int(row[bit // WORD]) >> (bit % WORD) & 1)


@dataclass(frozen=True, slots=True, kw_only=True)
class Chamber:
    """Rows of one chamber, by number of the distinct stack."""

    stack_of: NDArray[np.int32]  # per cylinder, the number of its stack
    on: Words  # (stacks, words)
    near: Words
    steps: NDArray[np.int16]  # (stacks, levels): distance in steps, -1 = unknown
    passing: NDArray[np.bool_]  # (stacks, levels): distance 0
    by_level: Words  # (levels, words): keys whose cut here has that level
    cut: int | None  # index of the key's cut that meets this chamber
    _nearer: dict[int, Words] = field(default_factory=dict)

    def nearer_than(self, steps: int) -> Words:
        """Rows of the keys at fewer than so many steps; unknown cuts count as near."""
        if steps not in self._nearer:
            self._nearer[steps] = _choose(self.by_level, self.steps < steps)
        return self._nearer[steps]


def _choose(by_level: Words, chosen: NDArray[np.bool_]) -> Words:
    """Per stack, the OR of the rows of the chosen levels."""
    rows = np.zeros((len(chosen), by_level.shape[1]), dtype=np.uint64)
    for level, row in enumerate(by_level):
        rows[chosen[:, level]] |= row
    return rows


def level_rows(bittings: Sequence[Bitting], cut: int, levels: int) -> Words:
    """Per level, the row of the keys whose cut at this index has it."""
    column = np.array([bitting[cut] for bitting in bittings], dtype=np.int16)
    return pack(column[None, :] == np.arange(levels, dtype=np.int16)[:, None])


def chamber_rows(
    fit: Fit,
    line: Nanometres,
    chamber: int,
    cylinders: Sequence[PinnedCylinder],
    bittings: Sequence[Bitting],
) -> Chamber:
    """The rows of one chamber for cylinders of one format, towards one shear line."""
    numbers: dict[PinStack | None, int] = {}
    stack_of = np.array(
        [numbers.setdefault(c.chambers[chamber], len(numbers)) for c in cylinders], dtype=np.int32
    )
    on, steps = _tables(fit, line, chamber, list(numbers))
    cut = fit.cuts[chamber]
    by_level = level_rows(bittings, 0 if cut is None else cut, len(fit.roots))
    return Chamber(
        stack_of=stack_of,
        on=_choose(by_level, on),
        near=_choose(by_level, steps < fit.cylinder.least_step),
        steps=steps,
        passing=on,
        by_level=by_level,
        cut=cut,
    )


def _tables(
    fit: Fit, line: Nanometres, chamber: int, stacks: Sequence[PinStack | None]
) -> tuple[NDArray[np.bool_], NDArray[np.int16]]:
    """Per stack and level: whether it passes, and the distance in steps."""
    on = np.zeros((len(stacks), len(fit.roots)), dtype=np.bool_)
    steps = np.full((len(stacks), len(fit.roots)), -1, dtype=np.int16)
    for number, stack in enumerate(stacks):
        if stack is not None and fit.cuts[chamber] is None:
            continue
        ways = offsets(fit, stack, line)
        if ways is None:
            continue
        on[number] = [passes(way, fit.step) for way in ways]
        steps[number] = [steps_off(way, fit.step) for way in ways]
    return on, steps
