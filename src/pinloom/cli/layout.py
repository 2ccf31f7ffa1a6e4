"""The layout of a job on the screen: what keys carry under each master, and what comes next."""

from collections.abc import Iterator, Sequence

from pinloom.cli.screen import Screen
from pinloom.core.hardware import HardwareFormat
from pinloom.core.job import Job, Layout, LayoutGroup

MOST_ROWS = 40  # of the table, unless it is asked for whole
MOST_NAMES = 40  # of keys in a row


def figures(layout: Layout | None) -> dict[str, int] | None:
    """The layout in numbers, for ``--json``; no cuts."""
    if layout is None:
        return None
    return {
        "masters": sum(bool(group.master) for group in layout.groups),
        "groups": sum(not group.parts for group in layout.groups),
        "without_layout": sum(not group.carried for group in layout.groups),
        "exceptions": len(layout.exceptions()),
    }


def layout(screen: Screen, job: Job, *, full: bool) -> None:
    """What keys carry, as a person extends it by hand."""
    told, made = job.layout, job.key_format
    if told is None or not told.groups:
        return
    screen.heading("Layout: what keys carry under each master (confidential)")
    rows = [row for group in told.groups for row in _rows(group, told, job)]
    shown = rows if full else rows[:MOST_ROWS]
    heads = ("under", *(str(chamber + 1) for chamber in range(made.chambers)), "keys")
    screen.table(heads, shown, right=("keys",))
    _more(screen, len(rows) - len(shown))
    screen.say(
        "A master's row shows the cuts in which it differs from the master above; a dot keeps that "
        "one's cut. In the row below it one depth is what every key carries, several are "
        "those its keys vary through, those behind + are free besides, * is any of several."
    )
    _next(screen, told, made, full=full)
    _exceptions(screen, told, full=full)


def _rows(group: LayoutGroup, told: Layout, job: Job) -> Iterator[tuple[str, ...]]:
    made = job.key_format
    indent = " " * _depth(group, told)
    if group.master:
        cuts = job.bittings[job.chart.key_index()[group.master]]
        kept = set(group.kept)
        marks = ["." if p in kept else made.depths[v].stamped for p, v in enumerate(cuts)]
        yield (f"{indent}{group.master}", *marks, "")
        indent += " "
    if group.carried:
        further = group.further or ((),) * made.chambers
        cells = [
            _cell(made, levels, more, over=bool(group.parts))
            for levels, more in zip(group.carried, further, strict=True)
        ]
    else:
        cells = ["-"] * made.chambers
    yield (f"{indent}{_what(group)}", *cells, _count(group))


def _count(group: LayoutGroup) -> str:
    if not group.moved or group.parts:
        return f"{group.keys:,}"
    return f"{group.keys - len(group.moved):,} of {group.keys:,}"


def _depth(group: LayoutGroup, told: Layout) -> int:
    above = {one.master: one.above for one in told.groups if one.master}
    depth, name = 0, group.above
    while name:
        depth, name = depth + 1, above.get(name, "")
    return depth


def _what(group: LayoutGroup) -> str:
    if group.parts:
        return "all below"
    if group.master:
        return "its keys"
    return f"keys right under {group.above}" if group.above else f"{group.first} and others"


def _cell(
    made: HardwareFormat, levels: Sequence[int], further: Sequence[int], *, over: bool
) -> str:
    if over and len(levels) > 1:
        return "*"
    beside = f"+{_stamped(made, further)}" if further else ""
    return f"{_stamped(made, levels)}{beside}"


def _stamped(made: HardwareFormat, levels: Sequence[int]) -> str:
    texts = [made.depths[level].stamped for level in levels]
    return ("" if all(len(text) == 1 for text in texts) else " ").join(texts)


def _next(screen: Screen, told: Layout, made: HardwareFormat, *, full: bool) -> None:
    """The next combinations of every group that has a layout; those that have none in words."""
    groups = [group for group in told.groups if not group.parts]
    regular = [group for group in groups if group.carried]
    rows = [
        (
            _group(group),
            ", ".join(made.stamp(cuts) for cuts in group.unused) or "none left",
            f"{group.left:,}",
        )
        for group in regular
    ]
    if rows:
        shown = rows if full else rows[:MOST_ROWS]
        screen.table(("next under", "unused, in order", "left"), shown, right=("left",))
        _more(screen, len(rows) - len(shown))
        screen.say(
            "Each was tried: a new key with these cuts, and a door of its own that it shares with "
            "the masters above it, fits with nothing else touched, one or all of them. "
            "Prove what you cut with pin. Beyond the layout, pinloom room may find more."
        )
    loose = [f"{_group(group)} ({_many(group.keys)})" for group in groups if not group.carried]
    if loose:
        screen.say(
            f"No regular layout: {_names(loose, full=full)}. No depth tells the keys there from "
            "the master above; find room with pinloom room."
        )


def _group(group: LayoutGroup) -> str:
    return group.master or f"{group.above or group.first}, no master between"


def _exceptions(screen: Screen, told: Layout, *, full: bool) -> None:
    """The keys that the layout does not describe."""
    crossing = set(told.crossing)
    moved = [name for name in told.exceptions() if name not in crossing]
    if told.crossing:
        names = _names(told.crossing, full=full)
        screen.say(f"In no group, {_many(len(told.crossing))}: {names}.")
    if moved:
        screen.say(f"Cut otherwise, {_many(len(moved))}: {_names(moved, full=full)}.")
    if not told.crossing and not moved:
        screen.say("Every key follows it.")


def _names(names: Sequence[str], *, full: bool) -> str:
    if full or len(names) <= MOST_NAMES:
        return ", ".join(names)
    left = len(names) - MOST_NAMES
    return f"{', '.join(names[:MOST_NAMES])} and {left:,} more (--full shows all)"


def _many(keys: int) -> str:
    return "1 key" if keys == 1 else f"{keys:,} keys"


def _more(screen: Screen, left: int) -> None:
    if left:
        screen.say(f"... and {left:,} more (--full shows all).")
