"""Words for the change keys of one group.

Theorem (C-9 and its product form). Under one master, words that differ from the master in exactly
``r`` positions open only their own locks: a word in the box {master, x} agrees in every position
with the master or with x, and with equally many differences it is x. With ``q_p`` further symbols
in position p there are e_r(q_1, ..., q_P) such words, e_r = elementary symmetric polynomial.
Positions committed by the levels above must differ and multiply the count.

MACS and the other rules about single keys are part of the construction: only words that a key may
have are counted. Few positions and low symbols are used first, so that later keys find room.
"""

from collections.abc import Iterator, Sequence
from itertools import combinations, product
from math import prod

from pinloom.design.regions import Frame, Region

SUBSETS = 40  # sets of positions tried for one group


def symmetric(sizes: Sequence[int]) -> list[int]:
    """Elementary symmetric polynomials e_0 .. e_n of the sizes."""
    found = [1]
    for size in sizes:
        found = [
            (found[r] if r < len(found) else 0) + size * (found[r - 1] if r else 0)
            for r in range(len(found) + 1)
        ]
    return found


def capacity(sizes: Sequence[tuple[int, bool]]) -> int:
    """Most change keys in a region of these (symbols, committed), rules about single keys aside."""
    committed = prod(size for size, flag in sizes if flag)
    return committed * max(symmetric([size for size, flag in sizes if not flag]))


def words(frame: Frame, region: Region, need: int) -> list[tuple[int, ...]] | None:
    """At least ``need`` words (symbols by position) for change keys, the first ones to be used
    first; all that the chosen positions give. None when the region has too few.
    """
    if need <= 0:
        return []
    fixed = [p for p, flag in enumerate(region.committed) if flag]
    loose = [p for p, flag in enumerate(region.committed) if not flag and region.free[p]]
    base = prod(len(region.free[p]) for p in fixed)
    for positions, rank in _choices(region, loose):
        sizes = [len(region.free[p]) for p in positions]
        if base * symmetric(sizes)[rank] < need:
            continue
        found = [w for w in _ranked(region, fixed, positions, rank) if frame.allows(w)]
        if len(found) >= need:
            return found
    return None


def _choices(region: Region, loose: list[int]) -> Iterator[tuple[tuple[int, ...], int]]:
    """Sets of positions and ranks: few positions first, whole products before lower ranks."""
    ordered = sorted(loose, key=lambda p: (-len(region.free[p]), p))
    for count in range(len(ordered) + 1):
        subsets = list(combinations(ordered, count))[:SUBSETS]
        for rank in range(count, 0, -1) if count else (0,):
            for subset in subsets:
                yield tuple(sorted(subset)), rank


def _ranked(
    region: Region, fixed: list[int], loose: tuple[int, ...], rank: int
) -> Iterator[tuple[int, ...]]:
    """Words of the region that differ from the centre in all fixed and in ``rank`` loose positions,
    in the order of their symbols' preference, the first position moving least.
    """
    choices: list[tuple[int, ...]] = []
    for p, centre in enumerate(region.centre):
        if p in fixed:
            choices.append(region.free[p])
        elif p in loose:
            whole = rank == len(loose)
            choices.append(region.free[p] if whole else (centre, *region.free[p]))
        else:
            choices.append((centre,))
    for word in product(*choices):
        if sum(word[p] != region.centre[p] for p in loose) == rank:
            yield word
