"""Regions: the part of the symbol space that a sub-tree may use.

In every position a region has a *centre* (the cut of the master above), the symbols that the
sub-tree may use besides it, and a flag: *committed* means that a key of the sub-tree must use one
of these symbols there, because brothers of the sub-tree use others. Rules, with the reason each
keeps keys apart:

- Two brothers are separated by one position in which both are committed to different symbols.
- A master takes, in every committed position, the first symbol and leaves the rest, no longer
  committed, to its sub-tree; elsewhere it keeps the centre. So no key below uses the cut of a
  master above where that master is committed, and a lock's box meets the brothers' symbols nowhere.
- Change keys of one master use words that differ from the centre in exactly ``rank`` of the
  uncommitted positions: no such word lies in the box of another and the centre (see ``codes``).
"""

from dataclasses import dataclass, replace
from operator import mul

from pinloom.design.problem import DesignProblem
from pinloom.design.symbols import Bools, Ints, SymbolSpace


@dataclass(frozen=True, slots=True, kw_only=True)
class Region:
    """Per position: usable symbols in order of preference, commitment, centre, and the cuts of
    the masters above (the centre included).
    """

    free: tuple[tuple[int, ...], ...]
    committed: tuple[bool, ...]
    centre: tuple[int, ...]
    above: tuple[frozenset[int], ...]

    def commit(self, position: int, symbols: tuple[int, ...]) -> "Region":
        """The part of the region that uses these symbols in one position."""
        free = (*self.free[:position], symbols, *self.free[position + 1 :])
        flags = (*self.committed[:position], True, *self.committed[position + 1 :])
        return replace(self, free=free, committed=flags)

    def master(self) -> tuple[int, ...]:
        """Symbols of the master that this region is given to."""
        return tuple(
            symbols[0] if flag else centre
            for symbols, flag, centre in zip(self.free, self.committed, self.centre, strict=True)
        )

    def under(self, master: tuple[int, ...]) -> "Region":
        """The region below its master."""
        return Region(
            free=tuple(
                tuple(s for s in symbols if s != cut) if flag else symbols
                for symbols, flag, cut in zip(self.free, self.committed, master, strict=True)
            ),
            committed=(False,) * len(master),
            centre=master,
            above=tuple(cuts | {cut} for cuts, cut in zip(self.above, master, strict=True)),
        )

    def narrowed(self, most: int) -> "Region":
        """At most so many symbols a position together with the masters' cuts, for groups whose keys
        all meet at one lock.
        """
        return replace(
            self,
            free=tuple(
                symbols[: max(1 if flag else 0, most - len(cuts))]
                for symbols, flag, cuts in zip(self.free, self.committed, self.above, strict=True)
            ),
        )

    def sizes(self) -> tuple[tuple[int, bool], ...]:
        """Number of symbols and commitment by position."""
        return tuple((len(s), flag) for s, flag in zip(self.free, self.committed, strict=True))


@dataclass(frozen=True, slots=True, kw_only=True)
class Frame:
    """How a layout starts: the top master's symbols, and the other symbols by position in order of
    preference. ``mask`` = points that ordinary keys may have.
    """

    problem: DesignProblem
    space: SymbolSpace
    centre: tuple[int, ...]
    orders: tuple[tuple[int, ...], ...]
    mask: Bools
    strides: Ints

    def region(self) -> Region:
        """The whole space under the top master."""
        return Region(
            free=self.orders,
            committed=(False,) * len(self.centre),
            centre=self.centre,
            above=tuple(frozenset({cut}) for cut in self.centre),
        )

    def point(self, symbols: tuple[int, ...]) -> int:
        """The point of a word of symbols."""
        return sum(map(mul, symbols, self.strides.tolist()))

    def allows(self, symbols: tuple[int, ...]) -> bool:
        """Whether an ordinary key may be cut so."""
        return bool(self.mask[self.point(symbols)])
