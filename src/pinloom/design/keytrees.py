"""The key trees by which a layout may be told: what the chart says, else what the marks show.

1. *Declared*: where the table of keys says for most keys under which master they are, that is the
   tree. Keys without a place in it stand in no group.
2. *Inferred* (``inference``): the tree of the design engine, made for charts of any size in which
   keys cross.
3. *Contained*: a key is under the narrowest master that opens all its doors and more. Right where
   groups share many doors, and slow; so it is a second opinion, for small charts.
Which of the last two explains the cuts is for the reader of the cuts to say. Keys that are not in
use open nothing here.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from pinloom.core.chart import AccessChart, KeyStanding
from pinloom.design.inference import Node, infer_tree
from pinloom.design.problem import DesignProblem, Lock

SMALL = 300  # keys up to which a second opinion is asked


@dataclass(frozen=True, slots=True, kw_only=True)
class Grouping:
    """A key tree, and the keys that open doors and stand in none of its groups, ascending."""

    root: Node
    outside: tuple[int, ...]


def groupings(chart: AccessChart) -> Iterator[Grouping]:
    """The trees worth reading, best known first."""
    rows = _rows(chart)
    opened = sorted({k for row in rows for k in row})
    root = _declared(chart, opened)
    if root is not None:
        yield _grouping(root, opened)
        return
    yield _grouping(infer_tree(_marks(chart, rows)).root, opened)
    if len(opened) <= SMALL:
        yield _grouping(_contained(rows, opened), opened)


def _grouping(root: Node, opened: Sequence[int]) -> Grouping:
    placed: set[int] = set()
    for node in root.walk():
        placed |= {node.key} if node.key is not None else set()
        # Keys at a root without a key are under nobody.
        placed |= set(node.leaves) if node is not root or node.key is not None else set()
    return Grouping(root=root, outside=tuple(k for k in opened if k not in placed))


def _rows(chart: AccessChart) -> Sequence[tuple[int, ...]]:
    idle = {k for k, key in enumerate(chart.keys) if key.standing is not KeyStanding.ACTIVE}
    if not idle:
        return chart.openers
    return [tuple(k for k in row if k not in idle) for row in chart.openers]


def _marks(chart: AccessChart, rows: Sequence[tuple[int, ...]]) -> DesignProblem:
    """The marks alone, as inference takes them."""
    merged: dict[tuple[int, ...], list[int]] = {}
    for door, row in enumerate(rows):
        merged.setdefault(row, []).append(door)
    return DesignProblem(
        positions=0,
        levels=0,
        macs=0,
        least_step=1,
        pin_sizes=frozenset(),
        max_masters=0,
        keys=len(chart.keys),
        locks=tuple(
            Lock(openers=openers, doors=tuple(doors), active=())
            for openers, doors in merged.items()
        ),
        fixed=(),
    )


def _declared(chart: AccessChart, opened: Sequence[int]) -> Node | None:
    index = chart.key_index()
    parent = {k: index[chart.keys[k].under] for k in opened if chart.keys[k].under in index}
    if 2 * len(parent) < len(opened) or not parent:
        return None
    return _tree(parent)


def _tree(parent: dict[int, int]) -> Node:
    """Nodes of all keys that others are under; a key under nobody with none below is left out."""
    nodes = {key: Node(key=key) for key in sorted(set(parent.values()))}
    tops = [node for key, node in nodes.items() if key not in parent]
    for key in sorted(parent):
        above = nodes[parent[key]]
        if key in nodes:
            above.children.append(nodes[key])
        else:
            above.leaves.append(key)
    if len(tops) == 1:
        return tops[0]
    return Node(key=None, children=tops)


def _contained(rows: Sequence[tuple[int, ...]], opened: Sequence[int]) -> Node:
    doors: dict[int, set[int]] = {k: set() for k in opened}
    for door, row in enumerate(rows):
        for key in row:
            doors[key].add(door)
    wider = {k: [m for m in rows[min(doors[k])] if doors[k] < doors[m]] for k in opened}
    masters = _masters(doors, wider)
    parent = {
        key: min(above, key=lambda m: (len(doors[m]), m))
        for key, all_above in wider.items()
        if (above := [m for m in all_above if m in masters])
    }
    # Right under a master over masters, a key that shares doors with one of these crosses groups.
    beside: dict[int, set[int]] = {key: set() for key in masters}
    for key in masters & parent.keys():
        beside[parent[key]] |= doors[key]
    return _tree({k: m for k, m in parent.items() if k in masters or not doors[k] & beside[m]})


def _masters(doors: Mapping[int, set[int]], wider: Mapping[int, Sequence[int]]) -> set[int]:
    """Keys that contain two others or more, larger ones first, none of which shares one of these
    with a master that neither contains it nor is contained in it.
    """
    inside: dict[int, set[int]] = {}
    for key, above in wider.items():
        for master in above:
            inside.setdefault(master, set()).add(key)
    chosen: set[int] = set()
    for key in sorted(inside, key=lambda k: (-len(inside[k]), -len(doors[k]), k)):
        if len(inside[key]) > 1 and not any(
            inside[key] & inside[other] and not doors[key] < doors[other] for other in chosen
        ):
            chosen.add(key)
    return chosen
