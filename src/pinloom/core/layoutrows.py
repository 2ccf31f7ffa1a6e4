"""The layout of a job as lines of a table, for screen and paper alike."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from pinloom.core.hardware import HardwareFormat
from pinloom.core.job import Job, Layout, LayoutGroup

SAME, ANY, NONE = ".", "*", "-"

#: how to read the lines
LEGEND = (
    "A master's line shows the cuts in which it differs from the master above; a dot keeps that "
    "one's cut. In the line below it one depth is what every key carries, several are those its "
    "keys vary through, those behind + are free besides, * is any of several."
)


@dataclass(frozen=True, slots=True, kw_only=True)
class LayoutLine:
    """One line: ``depth`` = how far below the top, ``cells`` = a text for each chamber."""

    name: str
    depth: int
    cells: tuple[str, ...]
    keys: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class NextLine:
    """The next combinations of a group as stamped, and how many were counted."""

    name: str
    unused: tuple[str, ...]
    left: int


def layout_lines(job: Job) -> Iterator[LayoutLine]:
    """A line for each master, and one below it for what its keys carry."""
    layout, made = job.layout, job.key_format
    if layout is None:
        return
    index = job.chart.key_index()
    above = {one.master: one.above for one in layout.groups if one.master}
    for group in layout.groups:
        depth = _depth(group.above, above)
        if group.master:
            yield LayoutLine(
                name=group.master,
                depth=depth,
                cells=tuple(
                    SAME if p in group.kept else made.depths[level].stamped
                    for p, level in enumerate(job.bittings[index[group.master]])
                ),
            )
        yield LayoutLine(
            name=_what(group),
            depth=depth + bool(group.master),
            cells=tuple(_cells(group, made)),
            keys=_count(group),
        )


def next_lines(layout: Layout, made: HardwareFormat) -> Iterator[NextLine]:
    """Every group that has a layout."""
    for group in layout.groups:
        if group.carried and not group.parts:
            unused = tuple(made.stamp(cuts) for cuts in group.unused)
            yield NextLine(name=group_name(group), unused=unused, left=group.left)


def group_name(group: LayoutGroup) -> str:
    """A group by its master, or by the one above it."""
    return group.master or f"{group.above or group.first}, no master between"


def moved(layout: Layout) -> tuple[str, ...]:
    """Names of keys that stand in a group and do not follow it."""
    outside = set(layout.crossing)
    return tuple(name for name in layout.exceptions() if name not in outside)


def _depth(name: str, above: dict[str, str]) -> int:
    depth = 0
    while name:
        depth, name = depth + 1, above.get(name, "")
    return depth


def _what(group: LayoutGroup) -> str:
    if group.parts:
        return "all below"
    if group.master:
        return "its keys"
    return f"keys right under {group.above}" if group.above else f"{group.first} and others"


def _count(group: LayoutGroup) -> str:
    if group.parts or not group.moved:
        return f"{group.keys:,}"
    return f"{group.keys - len(group.moved):,} of {group.keys:,}"


def _cells(group: LayoutGroup, made: HardwareFormat) -> Iterator[str]:
    if not group.carried:
        yield from [NONE] * made.chambers
        return
    further = group.further or ((),) * made.chambers
    for levels, more in zip(group.carried, further, strict=True):
        if group.parts and len(levels) > 1:
            yield ANY
        else:
            yield _stamped(made, levels) + (f"+{_stamped(made, more)}" if more else "")


def _stamped(made: HardwareFormat, levels: Sequence[int]) -> str:
    texts = [made.depths[level].stamped for level in levels]
    return ("" if all(len(text) == 1 for text in texts) else " ").join(texts)
