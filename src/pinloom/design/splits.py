"""Layouts of uneven trees: a dynamic program over unequal splits.

Theory. Two sub-trees are separated as soon as one chamber divides its symbols between them. A
layout is therefore a sequence of *splits* of regions: pick a chamber, give ``s`` of its symbols to
the first of the parts, the other symbols to those that remain, and go on in both. For feasibility
by count a region is only its multiset of (symbols, committed), so there are few states:

    reach(region, i) = how many of the parts, larger ones first, can be packed from part ``i`` on

either by opening part ``i`` with the whole region, or by splitting and packing on in the second
part. A part opened under its own master loses one symbol in every committed chamber (the
master's). A bundle of change keys fits when ``codes.capacity`` reaches its size.

The program is exact for layouts of this kind, rules about single keys aside, but other designs
exist: what it cannot pack is never called impossible. MACS is met by asking for more
room than counted (``slack``) and by trying other orders of chambers.
"""

from dataclasses import dataclass
from typing import Generic, TypeVar

from pinloom.core.job import Layout, LayoutLevel
from pinloom.design.codes import capacity
from pinloom.design.layouts import Group, Placement, Shape, Word, group_in
from pinloom.design.regions import Frame, Region

T = TypeVar("T")
Sizes = tuple[tuple[int, bool], ...]
Sign = tuple[bool, int, tuple["Sign", ...]]  # has a key, change keys, parts

MOST_STATES = 60_000


@dataclass(frozen=True, slots=True, kw_only=True)
class Split:
    """Give ``first`` symbols of a chamber with ``size`` symbols (committed or not) to the first
    side; all of them when ``first`` equals ``size``.
    """

    size: int
    committed: bool
    first: int


class Packer:
    """Decides by count whether shapes fit regions, and remembers how.

    Regions, shapes and lists of parts are numbered as they turn up, so that what is remembered is
    found by two numbers; a list is its first part and the number of the rest.
    """

    def __init__(self, slack: float = 0.0, states: int = MOST_STATES) -> None:
        self._slack = slack
        self.left = states
        self._regions = _Numbers[Sizes]()
        self._shapes = _Numbers[Sign]()
        self._lists = _Numbers[tuple[int, int]]()  # (shape, list of the rest); 0 = none left
        self._lists.of((-1, -1))
        self._lengths = [0]
        self._sides: dict[int, list[tuple[Split, int, int | None]]] = {}
        self._reach: dict[tuple[int, int], tuple[int, Split | None]] = {}
        self._fits: dict[tuple[int, int], bool] = {}

    def holds(self, region: Sizes, shape: Sign) -> bool:
        """Whether a shape fits a region that is already opened by its master."""
        return self._holds(self._regions.of(region), shape)

    def reach(self, region: Sizes, parts: tuple[Sign, ...]) -> tuple[int, Split | None]:
        """How many of the parts can be packed, and the first split; None = open the first part."""
        return self._reached(self._regions.of(region), self._list(parts))

    def _list(self, parts: tuple[Sign, ...]) -> int:
        number = 0
        for length, part in enumerate(reversed(parts), start=1):
            number = self._lists.of((self._shapes.of(part), number))
            if number == len(self._lengths):
                self._lengths.append(length)
        return number

    def _holds(self, region: int, shape: Sign) -> bool:
        _, leaves, parts = shape
        if not parts:
            room = capacity(self._regions.item(region))
            return room >= leaves + int(leaves * self._slack)
        return self._reached(region, self._list(parts))[0] == len(parts)

    def _opens(self, region: int, shape: int) -> bool:
        """Whether a part of this shape can be opened with the whole region."""
        found = self._fits.get((region, shape))
        if found is None:
            inner, sign = region, self._shapes.item(shape)
            found = True
            if sign[0]:
                sizes = self._regions.item(region)
                found = any(flag for _, flag in sizes)
                inner = self._regions.of(opened(sizes))
            found = found and self._holds(inner, sign)
            self._fits[region, shape] = found
        return found

    def _reached(self, region: int, parts: int) -> tuple[int, Split | None]:
        if not parts:
            return 0, None
        found = self._reach.get((region, parts))
        if found is not None:
            return found
        if self.left <= 0:
            return 0, None
        self.left -= 1
        most = self._lengths[parts]
        opens = self._opens(region, self._lists.item(parts)[0])
        best: tuple[int, Split | None] = (1, None) if opens else (0, None)
        for split, first, second in self._sides_of(region):
            if best[0] == most:
                break
            count = self._reached(first, parts)[0]
            if count and second is not None:
                count += self._reached(second, self._after(parts, count))[0]
            if count > best[0]:
                best = count, split
        self._reach[region, parts] = best
        return best

    def _after(self, parts: int, count: int) -> int:
        for _ in range(count):
            parts = self._lists.item(parts)[1]
        return parts

    def _sides_of(self, region: int) -> list[tuple[Split, int, int | None]]:
        """The splits of a region with the numbers of their two sides."""
        found = self._sides.get(region)
        if found is None:
            found = self._sides[region] = []
            sizes = self._regions.item(region)
            for split in splits_of(sizes):
                first, second = divided(sizes, split)
                other = None if second is None else self._regions.of(second)
                found.append((split, self._regions.of(first), other))
        return found


class _Numbers(Generic[T]):
    """Numbers for things in the order in which they turn up, from 0."""

    def __init__(self) -> None:
        self._number: dict[T, int] = {}
        self._items: list[T] = []

    def of(self, item: T) -> int:
        """The number of a thing, a new one where it is new."""
        number = self._number.setdefault(item, len(self._items))
        if number == len(self._items):
            self._items.append(item)
        return number

    def item(self, number: int) -> T:
        """The thing of a number."""
        return self._items[number]


def opened(region: Sizes) -> Sizes:
    """The region below its master."""
    return tuple(sorted((size - flag, False) for size, flag in region))


def splits_of(region: Sizes) -> list[Split]:
    """The splits of a region, one for each kind of chamber and share; even shares last."""
    kinds = sorted(set(region), key=lambda kind: (not kind[1], -kind[0]))
    return [
        Split(size=size, committed=flag, first=first)
        for size, flag in kinds
        for first in (*range(1, size), *(() if flag else (size,)))
        if size
    ]


def divided(region: Sizes, split: Split) -> tuple[Sizes, Sizes | None]:
    """Both sides of a split; no second side when the first takes all symbols."""
    rest = list(region)
    rest.remove((split.size, split.committed))
    first = tuple(sorted([*rest, (split.first, True)]))
    if split.first == split.size:
        return first, None
    return first, tuple(sorted([*rest, (split.size - split.first, True)]))


def sign_of(shape: Shape) -> Sign:
    """What counts of a shape."""
    return shape.key is not None, len(shape.leaves), tuple(sign_of(p) for p in shape.parts)


def could_fit(frame: Frame, shape: Shape) -> bool:
    """Whether a shape may fit by count with some of the positions and some slack. More positions
    and less slack never hold less, so one question answers for all of them.
    """
    packer = Packer()
    return packer.holds(_sizes(frame.region()), sign_of(shape)) or packer.left <= 0


class SplitLayout:
    """Lays a shape out by splits. ``places`` = positions in the order in which they are taken."""

    def __init__(
        self, frame: Frame, packer: Packer, places: tuple[int, ...], splits_most: int
    ) -> None:
        self._frame, self._packer, self._places = frame, packer, places
        self._splits_most = splits_most
        self._words: dict[int, Word] = {}
        self._groups: list[Group] = []
        self._dividing: set[int] = set()

    def build(self, shape: Shape, chambers: int) -> Placement | None:
        """The placement, using only the first ``chambers`` places; None when it does not fit or a
        rule about single keys spoils it.
        """
        region = self._frame.region()
        unused = set(self._places[chambers:])
        free = tuple(() if p in unused else s for p, s in enumerate(region.free))
        region = Region(
            free=free, committed=region.committed, centre=region.centre, above=region.above
        )
        if not self._packer.holds(_sizes(region), sign_of(shape)):
            return None
        if shape.key is not None:
            self._words[shape.key] = self._frame.centre
        if not self._fill(shape, region):
            return None
        return Placement(words=self._words, groups=tuple(self._groups), layout=self._describe())

    def _fill(self, shape: Shape, region: Region) -> bool:
        if not shape.parts:
            return self._bundle(shape, region)
        return self._pack(list(shape.parts), region)

    def _pack(self, parts: list[Shape], region: Region) -> bool:
        """Place the parts, all of them; takes them off the list as it goes."""
        _, split = self._packer.reach(_sizes(region), tuple(sign_of(p) for p in parts))
        if split is None:
            return self._open(parts.pop(0), region)
        position = next(
            p
            for p in self._places
            if (len(region.free[p]), region.committed[p]) == (split.size, split.committed)
        )
        self._dividing.add(position)
        symbols = region.free[position]
        if not self._pack(parts, region.commit(position, symbols[: split.first])):
            return False
        if not parts or split.first == split.size:
            return True
        return self._pack(parts, region.commit(position, symbols[split.first :]))

    def _open(self, part: Shape, region: Region) -> bool:
        if part.key is None:
            return self._fill(part, region)
        master = region.master()
        if not self._frame.allows(master):
            return False
        self._words[part.key] = master
        return self._fill(part, region.under(master))

    def _bundle(self, shape: Shape, region: Region) -> bool:
        group = group_in(self._frame, shape, region, self._splits_most)
        if group is None:
            return False
        self._words.update(zip(shape.leaves, group.words, strict=False))
        self._groups.append(group)
        return True

    def _describe(self) -> Layout:
        space, frame = self._frame.space, self._frame
        moving = {
            p
            for group in self._groups
            for p in range(len(frame.centre))
            if len({word[p] for word in group.words[: len(group.keys)]}) > 1
        }
        levels = tuple(
            LayoutLevel(
                name=name,
                chambers=tuple(sorted(chambers)),
                levels=tuple(
                    tuple(space.levels[p][s] for s in frame.orders[p]) for p in sorted(chambers)
                ),
            )
            for name, chambers in (("groups", self._dividing), ("keys", moving))
        )
        return Layout(
            master=tuple(space.levels[p][s] for p, s in enumerate(frame.centre)), levels=levels
        )


def _sizes(region: Region) -> Sizes:
    return tuple(sorted(region.sizes()))
