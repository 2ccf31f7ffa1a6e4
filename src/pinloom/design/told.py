"""Whether a finished design still follows the layout that it began with.

A layout is made when the tree of keys is laid out. Cross keys are put in after that, and repair may
move any key to make room for them; what such a layout leaves for further keys is in use. So it is
compared with the cuts that came out. A key of the tree *follows* the layout when it differs from
the layout's master only in chambers of its own level and those above it, by cuts that these list; a
cross key, when it does so in chambers of any level; the top master, when it has the very cuts. The
layout holds when the top master follows it and all but a few of the others.
"""

from collections.abc import Iterator, Sequence

from pinloom.core.bitting import Bitting
from pinloom.core.job import Layout, LayoutLevel
from pinloom.design.inference import Node, infer_tree
from pinloom.design.problem import DesignProblem

FEW = 4  # one key in so many may stand elsewhere; with more a layout explains nothing


def told(
    layout: Layout | None, problem: DesignProblem, bittings: Sequence[Bitting]
) -> Layout | None:
    """The layout, None where it does not describe these cuts."""
    if layout is None:
        return None
    tree = infer_tree(problem)
    root = tree.root
    # A chart without one key above all has a root without a key: nobody holds its "top master".
    if root.key is None or bittings[root.key] != layout.master:
        return None
    placed = dict(_placed(root, 0, layout)) | dict.fromkeys(tree.others, layout.levels)
    strays = sum(
        not _within(bittings[key], layout.master, levels) for key, levels in placed.items()
    )
    return layout if strays * FEW <= len(placed) else None


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
