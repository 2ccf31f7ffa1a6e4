"""From a key tree and a plan to cuts: the tree part of a design.

A *shape* is the tree without names: parts with their own master or without one, and bundles of
change keys. A layout walks the shape with a region for every part (``regions``), takes each
part's master from its region and the words of its change keys from ``codes``. A part whose
master a rule forbids, or whose region holds too few words under MACS, gets the next region of
its level; when there is none left the layout fails and another order of chambers is tried.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import product

from pinloom.core.job import Layout, LayoutLevel
from pinloom.design.codes import words
from pinloom.design.inference import KeyTree, Node
from pinloom.design.plans import Cut, Plan, block_sizes
from pinloom.design.regions import Frame, Region

Word = tuple[int, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Shape:
    """A part of the tree. Either ``parts`` or ``leaves`` is empty. ``meets`` = the change keys meet
    at a shared lock, so that its stack limits their symbols.
    """

    key: int | None
    parts: tuple["Shape", ...]
    leaves: tuple[int, ...]
    meets: bool

    def size(self) -> int:
        """Change keys in it."""
        return len(self.leaves) + sum(part.size() for part in self.parts)


@dataclass(frozen=True, slots=True, kw_only=True)
class Group:
    """A bundle of change keys as laid out: ``keys[i]`` has ``words[i]``; further words are
    unused."""

    keys: tuple[int, ...]
    words: tuple[Word, ...]


def group_in(frame: Frame, shape: Shape, region: Region, splits_most: int) -> Group | None:
    """The change keys of a shape with words of a region; None when it has too few. Where the keys
    meet at a shared door, no more levels than one of its chambers may split on are used.
    """
    if shape.meets:
        region = region.narrowed(splits_most)
    found = words(frame, region, len(shape.leaves))
    return None if found is None else Group(keys=shape.leaves, words=tuple(found))


@dataclass(frozen=True, slots=True, kw_only=True)
class Placement:
    """The tree part of a design, in symbols, and how it was made."""

    words: dict[int, Word]
    groups: tuple[Group, ...]
    layout: Layout


def shape_of(tree: KeyTree) -> Shape:
    """The shape of a tree; larger parts first. Loose change keys of a master with sub-masters
    become a part without a key.
    """
    return _shape(tree.root)


def _shape(node: Node) -> Shape:
    parts = [_shape(child) for child in node.children]
    if parts and node.leaves:
        leaves = tuple(node.leaves)
        parts.append(Shape(key=None, parts=(), leaves=leaves, meets=bool(node.locks)))
    parts.sort(key=lambda part: -part.size())
    return Shape(
        key=node.key,
        parts=tuple(parts),
        leaves=() if parts else tuple(node.leaves),
        meets=bool(node.locks),
    )


def brothers_by_depth(shape: Shape) -> tuple[int, ...]:
    """Most parts of one master, by depth."""
    below = [brothers_by_depth(part) for part in shape.parts]
    if not below:
        return ()
    depth = max(len(b) for b in below)
    return (
        len(shape.parts),
        *(max((b[i] for b in below if i < len(b)), default=1) for i in range(depth)),
    )


def largest_bundle(shape: Shape) -> int:
    """Most change keys of one bundle."""
    return max([len(shape.leaves), *(largest_bundle(part) for part in shape.parts)])


class PlanLayout:
    """Lays a shape out by a plan whose slots stand at given positions."""

    def __init__(self, frame: Frame, plan: Plan, places: Sequence[int], splits_most: int) -> None:
        self._frame, self._plan, self._places = frame, plan, places
        self._splits_most = splits_most
        self._words: dict[int, Word] = {}
        self._groups: list[Group] = []

    def build(self, shape: Shape) -> Placement | None:
        """The placement, or None when MACS or another rule spoils this order of chambers."""
        if shape.key is not None:
            self._words[shape.key] = self._frame.centre
        if not self._fill(shape, self._frame.region(), 0):
            return None
        return Placement(words=self._words, groups=tuple(self._groups), layout=self._describe())

    def _fill(self, shape: Shape, region: Region, depth: int) -> bool:
        if not shape.parts:
            return self._bundle(shape, region)
        regions = self._regions(region, self._plan.levels[depth])
        for part in shape.parts:
            if not any(self._open(part, candidate, depth + 1) for candidate in regions):
                return False
        return True

    def _open(self, part: Shape, region: Region, depth: int) -> bool:
        before = len(self._groups)
        if part.key is None:
            opened = self._fill(part, region, depth)
        else:
            master = region.master()
            self._words[part.key] = master
            opened = self._frame.allows(master) and self._fill(part, region.under(master), depth)
        if not opened:
            del self._groups[before:]
        return opened

    def _bundle(self, shape: Shape, region: Region) -> bool:
        group = group_in(self._frame, shape, region, self._splits_most)
        if group is None:
            return False
        self._words.update(zip(shape.leaves, group.words, strict=False))
        self._groups.append(group)
        return True

    def _regions(self, region: Region, cuts: tuple[Cut, ...]) -> Iterator[Region]:
        """Regions of brothers; each is handed out once, whether it served or not. Those of the
        plan come first: the symbols it leaves unused are room for keys outside the tree.
        """
        positions = [self._places[cut.slot] for cut in cuts]
        blocks = [_blocks(region.free[p], cut) for p, cut in zip(positions, cuts, strict=True)]
        planned = set(product(*(b[: cut.blocks] for b, cut in zip(blocks, cuts, strict=True))))
        for chosen in sorted(product(*blocks), key=lambda c: c not in planned):
            part = region
            for position, symbols in zip(positions, chosen, strict=True):
                part = part.commit(position, symbols)
            yield part

    def _describe(self) -> Layout:
        space = self._frame.space
        levels = []
        used: set[int] = set()
        for depth, cuts in enumerate(self._plan.levels):
            chambers = tuple(sorted(self._places[cut.slot] for cut in cuts))
            used |= set(chambers)
            levels.append(self._level(level_name(depth, len(self._plan.levels)), chambers))
        centre = self._frame.centre
        moving = {
            p
            for group in self._groups
            for p in range(len(centre))
            if len({word[p] for word in group.words[: len(group.keys)]}) > 1
        }
        levels.append(self._level("keys", tuple(sorted(moving))))
        return Layout(
            master=tuple(space.levels[p][s] for p, s in enumerate(centre)), levels=tuple(levels)
        )

    def _level(self, name: str, chambers: tuple[int, ...]) -> LayoutLevel:
        space, orders = self._frame.space, self._frame.orders
        return LayoutLevel(
            name=name,
            chambers=chambers,
            levels=tuple(tuple(space.levels[p][s] for s in orders[p]) for p in chambers),
        )


def level_name(depth: int, depths: int) -> str:
    """A word for a level of masters: the lowest are groups, above them areas, then wings."""
    return {0: "groups", 1: "areas", 2: "wings"}.get(depths - 1 - depth, f"level {depth + 1}")


def _blocks(symbols: tuple[int, ...], cut: Cut) -> list[tuple[int, ...]]:
    sizes = block_sizes(len(symbols), cut.blocks, cut.fat)
    if not cut.fat:
        # Thin blocks: more symbols than asked may serve, should MACS spoil one.
        return [(symbol,) for symbol in symbols]
    blocks, start = [], 0
    for size in sizes:
        blocks.append(symbols[start : start + size])
        start += size
    return blocks
