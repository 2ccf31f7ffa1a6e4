"""Standard progressions, for those who must follow house rules instead of asking for a design.

Theory. Under one top master, a change key's cylinder splits in each chamber on the key's own cut
and on the master's. Another change key opens it when in every chamber it has one of the two. So in
a set of change keys that differ from the master in *equally many* chambers nobody opens another's
cylinder: a key that enters differs from the master only where the other does, and has the other's
cuts there; differing in as many chambers, it is the same key. The three standard ways all keep that
number fixed:

- total position progression: change keys differ from the top master in every chamber;
- partial position progression: they carry the master's cut in the same chambers, the constants;
- rotating constants: so many chambers carry the master's cut, and every choice of them is used in
  turn, which gives C(P, c) q^(P - c) keys (C-9 of the published checks is the best c).

Beside each master's cut stand the cuts that lie whole least steps from it (``beside`` of a format):
on two-step hardware those of the same parity, so that no two cuts of a column are ever confused
(*5402 Series Technical Manual*, p. 3-17).

A progression knows nothing of a chart: it has no middle masters of its own, shared doors or cross
keys. What it lists is proved like any other bitting once it is used.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from enum import Enum
from itertools import combinations, islice, product
from math import prod

from pinloom.core.bitting import Bitting, Level, keeps_macs
from pinloom.core.findings import Finding, fault
from pinloom.core.hardware import HardwareFormat


class ProgressionMethod(Enum):
    """Which chambers of a change key carry the top master's cut."""

    TOTAL = "total position progression"
    PARTIAL = "partial position progression"
    ROTATING = "rotating constants"


@dataclass(frozen=True, slots=True, kw_only=True)
class Progression:
    """A top master with the array beside it, and the order in which the array is read.

    ``columns[p]`` = levels of position p in their order, none where the master's cut is constant.
    ``order`` = progressed positions, the one that moves with every key first. ``rotating`` = how
    many of them stand still at a time, in rotation.
    """

    method: ProgressionMethod
    master: Bitting
    columns: tuple[tuple[Level, ...], ...]
    order: tuple[int, ...]
    rotating: int = 0

    def count(self) -> int:
        """How many keys the progression lists, MACS not asked."""
        return sum(prod(len(self.columns[p]) for p in some) for some in self._moving())

    def listing(self) -> Iterator[Bitting]:
        """Every change key in order of progression, MACS not asked."""
        for some in self._moving():
            # The last factor of a product moves fastest.
            for cuts in product(*(self.columns[p] for p in reversed(some))):
                word = list(self.master)
                for position, cut in zip(reversed(some), cuts, strict=True):
                    word[position] = cut
                yield tuple(word)

    def _moving(self) -> Iterator[tuple[int, ...]]:
        """Sets of positions that differ from the master, those that stand still rotating from the
        slowest to the fastest.
        """
        return combinations(self.order, len(self.order) - self.rotating)


@dataclass(frozen=True, slots=True, kw_only=True)
class Listed:
    """The beginning of a progression. ``usable`` of all ``count`` keys keep MACS."""

    count: int
    usable: int
    keys: tuple[Bitting, ...]


def progression(
    made: HardwareFormat,
    master: Bitting,
    *,
    constants: Sequence[int] = (),
    rotating: int = 0,
    order: Sequence[int] = (),
    rows: Sequence[Bitting] = (),
) -> Progression:
    """The array of a top master. ``constants`` = positions (from 0) that keep the master's cut;
    ``rotating`` = how many of the others keep it in turn; ``order`` = progressed positions, fastest
    first (if not given, the last position moves fastest); ``rows`` = the array by a house's own
    table (if not given, every column runs from shallow to deep). Raises ValueError where ``faults``
    finds something.
    """
    if faults(made, master, constants=constants, rotating=rotating, order=order, rows=rows):
        raise ValueError("constants, rotation, order and rows do not go together")
    moving = [p for p in range(made.chambers) if p not in constants]
    method = ProgressionMethod.PARTIAL if constants else ProgressionMethod.TOTAL
    return Progression(
        method=ProgressionMethod.ROTATING if rotating else method,
        master=master,
        columns=tuple(
            (tuple(row[p] for row in rows) if rows else made.beside(cut)) if p in moving else ()
            for p, cut in enumerate(master)
        ),
        order=tuple(order) or tuple(reversed(moving)),
        rotating=rotating,
    )


def faults(
    made: HardwareFormat,
    master: Bitting,
    *,
    constants: Sequence[int] = (),
    rotating: int = 0,
    order: Sequence[int] = (),
    rows: Sequence[Bitting] = (),
) -> tuple[Finding, ...]:
    """What is wrong with the wishes for a progression; all of it."""
    found: list[Finding] = []
    for position in sorted({*constants, *order}):
        if not 0 <= position < made.chambers:
            found.append(
                fault("progression-no-chamber", chamber=position + 1, chambers=made.chambers)
            )
    moving = set(range(made.chambers)) - set(constants)
    if order and not found and sorted(order) != sorted(moving):
        named = " ".join(str(p + 1) for p in sorted(moving))
        found.append(fault("progression-order", chambers=named))
    if rotating >= max(1, len(moving)):
        found.append(fault("progression-nothing-moves", moving=len(moving), rotating=rotating))
    return (*found, *_row_faults(made, master, sorted(moving), rows))


def _row_faults(
    made: HardwareFormat, master: Bitting, moving: Sequence[int], rows: Sequence[Bitting]
) -> Iterator[Finding]:
    """Rows hold cuts beside the master's, none twice in a column."""
    for position in moving:
        column = [row[position] for row in rows]
        if len(set(column)) < len(column) or not set(column) <= set(made.beside(master[position])):
            beside = " ".join(made.depths[level].stamped for level in made.beside(master[position]))
            yield fault("progression-column", chamber=position + 1, beside=beside)


def list_keys(made: HardwareFormat, plan: Progression, most: int, first: int = 0) -> Listed:
    """At most ``most`` keys that keep MACS, leaving out the ``first`` of them."""
    usable = (key for key in plan.listing() if keeps_macs(key, made.macs))
    return Listed(
        count=plan.count(),
        usable=count_usable(made, plan),
        keys=tuple(islice(usable, first, first + most)),
    )


def count_usable(made: HardwareFormat, plan: Progression) -> int:
    """Keys of the progression that keep MACS, counted position by position: nothing is listed."""
    # ways[level, moved] = beginnings that end on this level with so many positions moved
    ways: dict[tuple[Level, int], int] = {}
    for position, cut in enumerate(plan.master):
        options = [(cut, 0)] if position not in plan.order or plan.rotating else []
        options += [(level, 1) for level in plan.columns[position]]
        new: dict[tuple[Level, int], int] = {}
        for level, moved in options:
            if position == 0:
                new[level, moved] = 1
                continue
            for (before, so_far), number in ways.items():
                if abs(before - level) <= made.macs:
                    place = (level, so_far + moved)
                    new[place] = new.get(place, 0) + number
        ways = new
    moving = len(plan.order) - plan.rotating
    return sum(number for (_, moved), number in ways.items() if moved == moving)


def possible_masters(
    made: HardwareFormat, keys: Sequence[Bitting]
) -> tuple[tuple[Level, ...], ...]:
    """Per position, the top master's cuts from which a total position progression could have made
    these change keys. For a shop that takes over keys without their records.
    """
    return tuple(
        tuple(
            level
            for level in range(made.levels)
            if all(key[position] in made.beside(level) for key in keys)
        )
        for position in range(made.chambers)
    )
