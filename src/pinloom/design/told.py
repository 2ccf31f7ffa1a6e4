"""Whether a layout still tells the truth about a finished design.

A layout is written down when the tree of keys is laid out. Cross keys are put in after that, and
repair may move any key to make room for them; a layout that is printed nonetheless sends whoever
extends the system by hand to combinations that are in use. So it is compared with the cuts that
came out. A key of the tree *follows* the layout when it differs from the layout's master only in
chambers of its own level and those above it, by cuts that these list; a cross key, when it does so
in chambers of any level; the top master, when it has the very cuts. The layout is told when the top
master follows it and all but a few of the others; the few are named with it.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from pinloom.core.bitting import Bitting
from pinloom.core.job import Layout, LayoutLevel
from pinloom.design.inference import Node, infer_tree
from pinloom.design.problem import DesignProblem

FEW = 4  # one key in so many may stand elsewhere; with more a layout explains nothing


@dataclass(frozen=True, slots=True, kw_only=True)
class Told:
    """The layout, None where it does not describe the design; ``strays`` = the keys that do
    not follow it.
    """

    layout: Layout | None
    strays: tuple[int, ...] = ()


def told(layout: Layout | None, problem: DesignProblem, bittings: Sequence[Bitting]) -> Told:
    """What of a layout holds for these cuts."""
    if layout is None:
        return Told(layout=None)
    tree = infer_tree(problem)
    root = tree.root
    # A chart without one key above all has a root without a key: nobody holds its "top master".
    if root.key is None or bittings[root.key] != layout.master:
        return Told(layout=None)
    placed = dict(_placed(root, 0, layout)) | dict.fromkeys(tree.others, layout.levels)
    strays = tuple(
        key
        for key, levels in sorted(placed.items())
        if not _within(bittings[key], layout.master, levels)
    )
    return Told(layout=layout if len(strays) * FEW <= len(placed) else None, strays=strays)


def _placed(
    node: Node, depth: int, layout: Layout
) -> Iterator[tuple[int, tuple[LayoutLevel, ...]]]:
    """Every key of the tree with the levels that may tell it apart."""
    if node.key is not None:
        yield node.key, layout.levels[:-1][:depth]
    for key in node.leaves:
        yield key, layout.levels
    for child in node.children:
        yield from _placed(child, depth + 1, layout)


def _within(cuts: Bitting, master: Bitting, levels: Sequence[LayoutLevel]) -> bool:
    """Whether cuts differ from the master only where these levels say, and as they say."""
    free = {
        (chamber, cut)
        for level in levels
        for chamber, listed in zip(level.chambers, level.levels, strict=True)
        for cut in listed
    }
    return all(
        cut == above or (chamber, cut) in free
        for chamber, (cut, above) in enumerate(zip(cuts, master, strict=True))
    )
