"""The hierarchy of a chart: which key lies under which, and a drawing of it.

Rules. A key lies under another when every door it opens is opened by the other too. Its place in
the drawing is under the narrowest such key; the chart's own ``under`` goes first where it names one
of them. A key that shares doors with keys that do not contain it, or be contained by it, is a cross
key: its row says so in words. Retired and reserved keys stand at the end, under nobody.
"""

from collections.abc import Iterator
from dataclasses import dataclass

from pinloom.core.chart import AccessChart, KeyStanding
from pinloom.sheets.scene import Anchor, Dash, Label, Path, Scene, Shape

ROWS = 44  # of one drawing
ROW = 5.2
INDENT = 9.0
WIDTH = 178.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Node:
    """One key in the order of the drawing; ``depth`` 0 = under nobody."""

    key: int
    depth: int
    parent: int | None


def nodes(chart: AccessChart) -> tuple[Node, ...]:
    """Every key once, parents before their children."""
    parents = _parents(chart)
    children: dict[int | None, list[int]] = {}
    for key, parent in enumerate(parents):
        children.setdefault(parent, []).append(key)
    idle = [k for k, key in enumerate(chart.keys) if key.standing is not KeyStanding.ACTIVE]
    roots = [key for key in children.get(None, []) if key not in set(idle)]
    found: list[Node] = []
    stack = [Node(key=key, depth=0, parent=None) for key in reversed(roots)]
    while stack:
        node = stack.pop()
        found.append(node)
        stack += [
            Node(key=key, depth=node.depth + 1, parent=node.key)
            for key in reversed(children.get(node.key, []))
        ]
    found += [Node(key=key, depth=0, parent=None) for key in idle]
    return tuple(found)


def below(chart: AccessChart) -> dict[int, frozenset[int]]:
    """Per key, all keys under it in the drawing, at any depth."""
    found: dict[int, set[int]] = {key: set() for key in range(len(chart.keys))}
    order = nodes(chart)
    for node in reversed(order):
        if node.parent is not None:
            found[node.parent] |= found[node.key] | {node.key}
    return {key: frozenset(keys) for key, keys in found.items()}


def _parents(chart: AccessChart) -> list[int | None]:
    sets = [frozenset(doors) for doors in chart.doors_of()]
    index = chart.key_index()
    parents: list[int | None] = []
    for key, doors in enumerate(sets):
        wider = {
            other
            for other in (chart.openers[min(doors)] if doors else ())
            if other != key and doors <= sets[other] and (doors < sets[other] or other < key)
        }
        named = index.get(chart.keys[key].under)
        if not wider or chart.keys[key].standing is not KeyStanding.ACTIVE:
            parents.append(None)
        elif named in wider:
            parents.append(named)
        else:
            parents.append(min(wider, key=lambda other: (len(sets[other]), other)))
    return parents


def tree_scenes(chart: AccessChart) -> Iterator[Scene]:
    """The drawing, in as many parts as it needs."""
    order = nodes(chart)
    for start in range(0, len(order), ROWS):
        part = order[start : start + ROWS]
        number = f" (part {start // ROWS + 1})" if len(order) > ROWS else ""
        yield Scene(
            title=f"Hierarchy of keys{number}",
            told=_told(chart, part),
            width=WIDTH,
            height=ROW * len(part) + 2,
            shapes=tuple(_shapes(chart, order, part, start)),
        )


def _told(chart: AccessChart, part: tuple[Node, ...]) -> str:
    names = [
        f"{chart.keys[node.key].name} under {chart.keys[node.parent].name}"
        for node in part
        if node.parent is not None
    ]
    return "; ".join(names) + "." if names else "No key lies under another."


def _shapes(
    chart: AccessChart, order: tuple[Node, ...], part: tuple[Node, ...], start: int
) -> Iterator[Shape]:
    opened = [len(doors) for doors in chart.doors_of()]
    rows = {node.key: row - start for row, node in enumerate(order)}
    for row, node in enumerate(part):
        key = chart.keys[node.key]
        left, base = node.depth * INDENT + 1, row * ROW + 4
        if node.parent is not None:
            stem = (node.depth - 1) * INDENT + 3.5
            top = max(0.0, rows[node.parent] * ROW + 5.2)
            yield Path(
                role="branch",
                points=((stem, top), (stem, base - 1.2), (left - 0.6, base - 1.2)),
                width=0.18,
            )
        yield Label(
            role="key-name", at=(left, base), text=key.name, size=3, anchor=Anchor.START, bold=True
        )
        word = "cylinder" if opened[node.key] == 1 else "cylinders"
        said = f"{opened[node.key]} {word}"
        if key.standing is not KeyStanding.ACTIVE:
            said = key.standing.value
        yield Label(role="reach", at=(WIDTH - 1, base), text=said, size=2.7, anchor=Anchor.END)
        yield Path(
            role="leader",
            points=((left + 2.2 * len(key.name) + 2, base), (WIDTH - 24, base)),
            width=0.12,
            dash=Dash.DOTTED,
        )
