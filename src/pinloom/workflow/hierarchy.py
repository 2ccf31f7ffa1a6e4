"""Who is under whom, as a page shows it: branches of masters with their lowest keys beside them."""

from dataclasses import dataclass

from pinloom.core.chart import AccessChart, Key
from pinloom.sheets.tree import nodes


@dataclass(frozen=True, slots=True, kw_only=True)
class Leaf:
    """A key with none under it. ``doors`` = names of what it opens; ``across`` = masters that
    share doors with it although neither opens all that the other opens, the highest of each line.
    """

    key: Key
    doors: tuple[str, ...]
    across: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Branch:
    """A key with others under it: first those with keys of their own, then the lowest."""

    key: Key
    doors: tuple[str, ...]
    across: tuple[str, ...]
    branches: tuple["Branch", ...]
    leaves: tuple[Leaf, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Hierarchy:
    """The whole chart: branches and leaves that lie under nobody."""

    branches: tuple[Branch, ...]
    leaves: tuple[Leaf, ...]
    levels: int


def hierarchy(chart: AccessChart) -> Hierarchy:
    """The keys of a chart in the order of the drawing on paper."""
    order = nodes(chart)
    children: dict[int | None, list[int]] = {}
    for node in order:
        children.setdefault(node.parent, []).append(node.key)
    opened = chart.doors_of()
    parent = {node.key: node.parent for node in order}

    def leaf(key: int) -> Leaf:
        return Leaf(key=chart.keys[key], doors=_names(chart, opened[key]), across=across(key))

    def across(key: int) -> tuple[str, ...]:
        mine = frozenset(opened[key])
        beside = {other for door in mine for other in chart.openers[door]}
        crossing = {
            other
            for other in beside
            if other in children
            and not (mine <= frozenset(opened[other]) or frozenset(opened[other]) <= mine)
        }
        # Where a master crosses, the masters under it need not be named as well.
        highest = [other for other in sorted(crossing) if parent[other] not in crossing]
        return tuple(chart.keys[other].name for other in highest)

    def branch(key: int) -> Branch:
        below = children.get(key, [])
        return Branch(
            key=chart.keys[key],
            doors=_names(chart, opened[key]),
            across=across(key),
            branches=tuple(branch(one) for one in below if one in children),
            leaves=tuple(leaf(one) for one in below if one not in children),
        )

    roots = children.get(None, [])
    return Hierarchy(
        branches=tuple(branch(one) for one in roots if one in children),
        leaves=tuple(leaf(one) for one in roots if one not in children),
        levels=max((node.depth + 1 for node in order), default=0),
    )


def _names(chart: AccessChart, doors: tuple[int, ...]) -> tuple[str, ...]:
    return tuple(chart.doors[door].name for door in doors)
