"""Plans for even trees: which chambers tell the members of each level apart.

A level with ``b`` brothers takes some chambers and cuts the symbols of each into blocks; every
brother owns one block in each of them. Two brothers differ in a block somewhere, so they are
separated. ``blocks`` of a chamber multiply to at least ``b``. A *thin* block is one symbol, which
the brother's master uses up; of a *fat* one the master uses the first symbol, and the rest is left
to the levels below. What remains in all chambers is for the change keys (``codes``).

Thin blocks in chambers of their own come first: such a layout leaves whole chambers constant and
high symbols unused, which is the room that cross keys live in.

Chambers are abstract here (*slots*, told apart by their number of symbols); a layout tries several
ways to place them, because MACS can spoil one.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from pinloom.design.codes import capacity, symmetric

MOST_PLANS = 400

Cuts = tuple[tuple["Cut", ...], ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Cut:
    """One chamber cut into blocks for one level."""

    slot: int
    blocks: int
    fat: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Plan:
    """``levels[i]`` = the cuts that tell brothers of depth ``i`` apart. ``holds`` = most change
    keys of one group, by count; ``spare`` = chambers that nothing uses; ``strangers`` = keys that
    can be told from all others by symbols that no brother has, wherever else they are alike.
    """

    levels: tuple[tuple[Cut, ...], ...]
    holds: int
    spare: int
    strangers: int

    @property
    def fat(self) -> int:
        """How many chambers are shared by levels."""
        return sum(cut.fat for level in self.levels for cut in level)


@dataclass(frozen=True, slots=True, kw_only=True)
class PlanSearch:
    """Plans that hold the asked number of change keys, best first, and the most any plan holds."""

    plans: tuple[Plan, ...]
    holds_most: int


def block_sizes(symbols: int, blocks: int, fat: bool) -> tuple[int, ...]:
    """Sizes of the blocks of one chamber, larger ones first."""
    if not fat:
        return (1,) * blocks
    whole, more = divmod(symbols, blocks)
    return tuple(whole + (i < more) for i in range(blocks))


def find_plans(sizes: Sequence[int], brothers: Sequence[int], leaves: int) -> PlanSearch:
    """All minimal plans for ``brothers[i]`` brothers at depth ``i`` and ``leaves`` change keys a
    group, in chambers with ``sizes`` symbols besides the master's.
    """
    plans: list[Plan] = []
    most = 0
    for levels, rest, unused in _enumerate(tuple(sizes), tuple(brothers)):
        holds = capacity([(size, False) for size in rest])
        most = max(most, holds)
        if holds >= leaves:
            used = {cut.slot for level in levels for cut in level}
            untouched = [size for slot, size in enumerate(rest) if slot not in used]
            shared = [size for slot, size in enumerate(rest) if slot in used]
            spare = len(untouched) - _chambers_needed(untouched, shared, leaves)
            strangers = max(symmetric(unused))
            plans.append(Plan(levels=levels, holds=holds, spare=spare, strangers=strangers))
    plans.sort(key=lambda plan: (-plan.spare, plan.fat, -plan.strangers, -plan.holds))
    return PlanSearch(plans=tuple(plans[:MOST_PLANS]), holds_most=most)


def _chambers_needed(untouched: list[int], shared: list[int], leaves: int) -> int:
    """Fewest untouched chambers that the change keys need besides the shared ones."""
    ordered = sorted(untouched, reverse=True)
    for count in range(len(ordered) + 1):
        for sizes in (ordered[:count], ordered[:count] + shared):
            if max(symmetric(sizes)) >= leaves:
                return count
    return len(ordered)


def _enumerate(
    sizes: tuple[int, ...], brothers: tuple[int, ...]
) -> Iterator[tuple[Cuts, tuple[int, ...], tuple[int, ...]]]:
    """Cuts by level with the symbols left by slot, and those that no brother has. Slots of equal
    standing are interchangeable.
    """
    seen: set[tuple[tuple[tuple[int, int, bool], ...], int]] = set()

    def grow(
        at: int,
        left: tuple[int, ...],
        unused: tuple[int, ...],
        used: frozenset[int],
        levels: Cuts,
    ) -> Iterator[tuple[Cuts, tuple[int, ...], tuple[int, ...]]]:
        slots = zip(left, unused, strict=True)
        standing = tuple(sorted((*sizes, slot in used) for slot, sizes in enumerate(slots)))
        if (standing, at) in seen:
            return
        seen.add((standing, at))
        if at == len(brothers):
            yield levels, left, unused
            return
        for cuts in _level(left, used, brothers[at]):
            after, idle = list(left), list(unused)
            for cut in cuts:
                after[cut.slot] = block_sizes(left[cut.slot], cut.blocks, cut.fat)[-1] - 1
                if not cut.fat:
                    idle[cut.slot] = left[cut.slot] - cut.blocks
            yield from grow(
                at + 1,
                tuple(after),
                tuple(idle),
                used | {cut.slot for cut in cuts},
                (*levels, cuts),
            )

    yield from grow(0, sizes, (0,) * len(sizes), frozenset(), ())


def _level(left: tuple[int, ...], used: frozenset[int], brothers: int) -> Iterator[tuple[Cut, ...]]:
    """Minimal sets of cuts for one level, in a fixed order."""

    def choose(start: int, chosen: tuple[Cut, ...], product: int) -> Iterator[tuple[Cut, ...]]:
        if product >= brothers and chosen:
            smaller = (product // cut.blocks * (cut.blocks - 1) for cut in chosen)
            if brothers == 1 or all(less < brothers for less in smaller):
                yield chosen
            return
        tried: set[tuple[int, bool, int]] = set()
        for slot in range(start, len(left)):
            for blocks in range(left[slot], 0 if brothers == 1 else 1, -1):
                standing = (left[slot], slot in used, blocks)
                if standing in tried:
                    continue
                tried.add(standing)
                for fat in (False, True):
                    if fat and left[slot] // blocks < 2:
                        continue
                    cut = Cut(slot=slot, blocks=blocks, fat=fat)
                    yield from choose(slot + 1, (*chosen, cut), product * blocks)

    yield from choose(0, (), 1)
