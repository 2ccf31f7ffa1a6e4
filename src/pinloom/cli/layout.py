"""The layout of a job on the screen: what keys carry under each master, and what comes next."""

from collections.abc import Sequence

from pinloom.cli.screen import Screen
from pinloom.core.hardware import HardwareFormat
from pinloom.core.job import Job, Layout
from pinloom.core.layoutrows import LEGEND, group_name, layout_lines, moved, next_lines

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
    lines = list(layout_lines(job))
    shown = lines if full else lines[:MOST_ROWS]
    heads = ("under", *(str(chamber + 1) for chamber in range(made.chambers)), "keys")
    rows = [(" " * line.depth + line.name, *line.cells, line.keys) for line in shown]
    screen.table(heads, rows, right=("keys",))
    _more(screen, len(lines) - len(shown))
    screen.say(LEGEND)
    _next(screen, told, made, full=full)
    _exceptions(screen, told, full=full)


def _next(screen: Screen, told: Layout, made: HardwareFormat, *, full: bool) -> None:
    """The next combinations of every group that has a layout; those that have none in words."""
    lines = list(next_lines(told, made))
    if lines:
        shown = lines if full else lines[:MOST_ROWS]
        rows = [(one.name, ", ".join(one.unused) or "none left", f"{one.left:,}") for one in shown]
        screen.table(("next under", "unused, in order", "left"), rows, right=("left",))
        _more(screen, len(lines) - len(shown))
        screen.say(
            "Each was tried: a new key with these cuts, and a door of its own that it shares with "
            "the masters above it, fits with nothing else touched, one or all of them. "
            "Prove what you cut with pin. Beyond the layout, pinloom room may find more."
        )
    loose = [
        f"{group_name(group)} ({_many(group.keys)})"
        for group in told.groups
        if not group.parts and not group.carried
    ]
    if loose:
        screen.say(
            f"No regular layout: {_names(loose, full=full)}. No depth tells the keys there from "
            "the master above; find room with pinloom room."
        )


def _exceptions(screen: Screen, told: Layout, *, full: bool) -> None:
    """The keys that the layout does not describe."""
    aside = moved(told)
    if told.crossing:
        names = _names(told.crossing, full=full)
        screen.say(f"In no group, {_many(len(told.crossing))}: {names}.")
    if aside:
        screen.say(f"Cut otherwise, {_many(len(aside))}: {_names(aside, full=full)}.")
    if not told.crossing and not aside:
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
