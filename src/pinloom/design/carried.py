"""What keys carry under each master, read from finished cuts.

A plan says what a layout was meant to be. Cross keys, repair and polishing move keys away from it,
and small charts are designed without any plan. Whoever extends a system by hand needs what the
finished cuts show, so it is read from them, whatever made them.

Rules.
1. Who is under whom: ``keytrees``. Of two trees that one is told which leaves fewer keys outside
   its groups, aside, or in groups without a layout.
2. A depth that all change keys of a group have in a chamber is *carried*. All but one in ten is as
   good: those few stand aside and are named.
3. Chambers in which the keys that follow have several depths *vary* through these.
4. A group shows a layout when two keys or more follow and some chamber is its *mark*: it tells them
   all from the master above, none being there within the least step of that one's cut. Where none
   does, a quarter of the keys may stand aside (one of three in a small group) so that one does.
   Groups that meet no others need no mark.
5. A master over masters is read in the same way from all keys and masters below that follow their
   own groups. There nobody stands aside but for a mark, and who does is no example for its own
   group either.
Keys that no door uses (reserved, retired) are not spoken of.
"""

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from pinloom.core.bitting import Bitting
from pinloom.core.chart import AccessChart
from pinloom.core.hardware import HardwareFormat
from pinloom.core.job import Layout, LayoutGroup, LayoutLevel
from pinloom.design.inference import Node
from pinloom.design.keytrees import Grouping, groupings
from pinloom.design.layouts import level_name

MARK_ASIDE = 4  # one key in so many may lack the mark of its group
PLAIN_ASIDE = 10  # one in so many may have its own depth in a chamber where the others have one
SMALL = 3  # from so many keys on one may lack the mark
FEWEST = 2  # a single key shows no layout

Carried = tuple[tuple[int, ...], ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class _Read:
    """Depths of the keys that follow, by chamber; () = no layout. ``aside`` = keys that do not."""

    carried: Carried
    aside: tuple[int, ...] = ()


@dataclass(slots=True)
class _Entry:
    """A group while it is read: ``follow`` = its keys and masters that follow so far."""

    group: LayoutGroup
    depth: int
    follow: list[int]


def carried(chart: AccessChart, made: HardwareFormat, bittings: Sequence[Bitting]) -> Layout | None:
    """The layout that cuts show; None where no key is master over others, or more keys would be
    exceptions than follow. ``unused``, ``further`` and ``left`` of its groups are found elsewhere.
    """
    found = (_layout(chart, made, bittings, grouping) for grouping in groupings(chart))
    best = min((one for one in found if one is not None), key=_unexplained, default=None)
    opened = len({key for row in chart.openers for key in row})
    return None if best is None or 2 * len(best.exceptions()) > opened else best


def _unexplained(layout: Layout) -> int:
    """Keys that the layout says nothing of, masters of groups without one among them."""
    without = [one for one in layout.groups if not one.parts and not one.carried]
    return len(layout.exceptions()) + sum(one.keys + bool(one.master) for one in without)


def _layout(
    chart: AccessChart, made: HardwareFormat, bittings: Sequence[Bitting], grouping: Grouping
) -> Layout | None:
    entries = _Reader(chart, made, bittings).entries(grouping.root)
    if not any(entry.group.master for entry in entries):
        return None
    cuts = {key.name: cut for key, cut in zip(chart.keys, bittings, strict=True)}
    top = grouping.root.key
    return Layout(
        master=() if top is None else bittings[top],
        levels=tuple(_levels(entries, made, cuts)),
        groups=tuple(entry.group for entry in entries),
        crossing=tuple(chart.keys[k].name for k in grouping.outside),
    )


class _Reader:
    def __init__(
        self, chart: AccessChart, made: HardwareFormat, bittings: Sequence[Bitting]
    ) -> None:
        self._chart, self._made, self._cuts = chart, made, bittings
        self._settled: set[int] | None = None  # keys that stand aside, once that is known

    def entries(self, root: Node) -> list[_Entry]:
        """Every master and every group without one, each before those under it."""
        found = self._walk(root)
        if any(entry.group.moved and entry.group.parts for entry in found):
            # A key that does not follow a higher master is no example for its own group either.
            index = self._chart.key_index()
            self._settled = {index[name] for entry in found for name in entry.group.moved}
            found = self._walk(root)
        return found

    def _walk(self, root: Node) -> list[_Entry]:
        if root.key is not None or root.size() == 0:
            return self._node(root, None, 0, alone=True)
        # Several masters side by side: nobody holds a key above them.
        alone = len(root.children) == 1 and not root.leaves
        return [
            entry
            for child in _ordered(root.children)
            for entry in self._node(child, None, 0, alone=alone)
        ]

    def _node(self, node: Node, above: int | None, depth: int, *, alone: bool) -> list[_Entry]:
        if node.key is None:
            return self._unheld(node, above, depth, alone=alone)
        parts = [
            entry
            for child in _ordered(node.children)
            for entry in self._node(child, node.key, depth + 1, alone=False)
        ]
        if not node.children:
            return [self._group(node.key, node.leaves, above, depth, alone=alone)]
        if node.leaves:
            parts.append(self._group(None, node.leaves, node.key, depth + 1, alone=False))
        return [self._over(node, above, parts, depth, alone=alone), *parts]

    def _unheld(self, node: Node, above: int | None, depth: int, *, alone: bool) -> list[_Entry]:
        """A group without a master of its own; what is under it hangs on the master above."""
        found = [
            entry
            for child in _ordered(node.children)
            for entry in self._node(child, above, depth, alone=False)
        ]
        if node.leaves:
            found.append(self._group(None, node.leaves, above, depth, alone=alone))
        return found

    def _group(
        self, key: int | None, leaves: Sequence[int], above: int | None, depth: int, *, alone: bool
    ) -> _Entry:
        read = self._read(leaves, above, alone=alone, plain=PLAIN_ASIDE)
        aside = set(read.aside)
        follow = [k for k in leaves if k not in aside]
        return _Entry(
            group=LayoutGroup(
                master=self._name(key),
                above=self._name(above),
                first=self._chart.keys[min(leaves)].name if leaves else "",
                kept=self._kept(key, above),
                keys=len(leaves),
                carried=read.carried,
                moved=self._listed(read.aside),
            ),
            depth=depth,
            follow=follow if key is None else [*follow, key],
        )

    def _over(
        self, node: Node, above: int | None, parts: Sequence[_Entry], depth: int, *, alone: bool
    ) -> _Entry:
        inner = [k for entry in parts if entry.depth == depth + 1 for k in entry.follow]
        read = self._read(inner, above, alone=alone, plain=0)
        aside = set(read.aside)
        return _Entry(
            group=LayoutGroup(
                master=self._name(node.key),
                above=self._name(above),
                kept=self._kept(node.key, above),
                parts=sum(entry.depth == depth + 1 for entry in parts),
                keys=node.size(),
                carried=read.carried,
                moved=self._listed(read.aside),
            ),
            depth=depth,
            follow=[
                *(k for k in inner if k not in aside),
                *([] if node.key is None else [node.key]),
            ],
        )

    def _read(self, keys: Sequence[int], above: int | None, *, alone: bool, plain: int) -> _Read:
        """What keys carry. One in ``plain`` may always stand aside, 0 = nobody."""
        reference = None if above is None else self._cuts[above]
        if self._settled is None:
            aside = self._aside(keys, reference, alone=alone, plain=plain)
        else:
            aside = self._settled & set(keys)
        follow = [k for k in keys if k not in aside]
        depths = self._depths(follow)
        shown = len(follow) >= FEWEST and (alone or self._is_marked(depths, reference))
        if not shown and self._settled is None:
            aside = set()  # aside of nothing
        return _Read(carried=depths if shown else (), aside=tuple(sorted(aside)))

    def _aside(
        self, keys: Sequence[int], reference: Bitting | None, *, alone: bool, plain: int
    ) -> set[int]:
        """Keys that stand aside, so that the others carry one depth, or a mark."""
        aside: set[int] = set()
        for _, others in self._lonely(keys, keys, None) if plain else ():
            if len(aside | others) * plain <= len(keys):
                aside |= others
        follow = [k for k in keys if k not in aside]
        if alone or self._is_marked(self._depths(follow), reference):
            return aside
        few = max(len(keys) // MARK_ASIDE, int(len(keys) >= SMALL))
        marks = (aside | others for _, others in self._lonely(keys, follow, reference))
        return next((enough for enough in marks if len(enough) <= few), aside)

    def _depths(self, keys: Sequence[int]) -> Carried:
        columns = zip(*(self._cuts[k] for k in keys), strict=True)
        return tuple(tuple(sorted(set(column))) for column in columns)

    def _lonely(
        self, keys: Sequence[int], follow: Sequence[int], reference: Bitting | None
    ) -> list[tuple[int, set[int]]]:
        """Per chamber, keys without the depth that most of those that follow have, fewest first.
        With a reference only chambers in which that depth tells them from it.
        """
        found = []
        for p in range(self._made.chambers if follow else 0):
            counts = Counter(self._cuts[k][p] for k in follow)
            depth = min(counts, key=lambda level: (-counts[level], level))
            if reference is None or self._apart(depth, reference[p]):
                found.append((p, {k for k in keys if self._cuts[k][p] != depth}))
        return sorted(found, key=lambda item: (len(item[1]), item[0]))

    def _is_marked(self, depths: Carried, reference: Bitting | None) -> bool:
        if reference is None:
            return any(len(levels) == 1 for levels in depths)
        return any(
            all(self._apart(level, cut) for level in levels)
            for levels, cut in zip(depths, reference, strict=True)
        )

    def _apart(self, one: int, other: int) -> bool:
        return abs(one - other) >= self._made.least_step

    def _kept(self, key: int | None, above: int | None) -> tuple[int, ...]:
        if key is None or above is None:
            return ()
        pairs = zip(self._cuts[key], self._cuts[above], strict=True)
        return tuple(p for p, (mine, theirs) in enumerate(pairs) if mine == theirs)

    def _name(self, key: int | None) -> str:
        return "" if key is None else self._chart.keys[key].name

    def _listed(self, keys: Sequence[int]) -> tuple[str, ...]:
        return tuple(self._chart.keys[k].name for k in sorted(keys))


def _ordered(nodes: Sequence[Node]) -> list[Node]:
    """Masters by their place in the chart, then groups without one by their first key."""

    def place(node: Node) -> tuple[bool, int]:
        keys = [k for one in node.walk() for k in one.leaves]
        return node.key is None, node.key if node.key is not None else min(keys, default=0)

    return sorted(nodes, key=place)


def _levels(
    entries: Sequence[_Entry], made: HardwareFormat, cuts: Mapping[str, Bitting]
) -> Iterator[LayoutLevel]:
    """Per level of masters, then for the change keys: which chambers tell its members apart."""
    held = [e for e in entries if e.group.master and e.group.above]
    depths = sorted({entry.depth for entry in held})
    for number, depth in enumerate(depths):
        used: list[set[int]] = [set() for _ in range(made.chambers)]
        for entry in held:
            if entry.depth == depth:
                for p in set(range(made.chambers)) - set(entry.group.kept):
                    used[p].add(cuts[entry.group.master][p])
        yield _level(level_name(number, len(depths)), used)
    used = [set() for _ in range(made.chambers)]
    for entry in entries:
        if not entry.group.parts:
            for p, levels in enumerate(entry.group.carried):
                used[p] |= set(levels) if len(levels) > 1 else set()
    yield _level("keys", used)


def _level(name: str, used: Sequence[set[int]]) -> LayoutLevel:
    chambers = tuple(p for p, levels in enumerate(used) if levels)
    return LayoutLevel(
        name=name, chambers=chambers, levels=tuple(tuple(sorted(used[p])) for p in chambers)
    )
