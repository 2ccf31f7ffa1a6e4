"""A chart printed back for a person to check before anything is cut.

Marks in columns where they fit the width, else one list of keys a door; below, the tree of keys.
Given cuts are a secret: that they are given is printed, never what they are.
"""

import textwrap
import unicodedata
from collections import defaultdict
from collections.abc import Sequence

from pinloom.core.chart import AccessChart, Door, Key, KeyStanding

_NARROWEST = 40  # columns below which lists of names cannot be broken sensibly
_DEEPEST = 10  # levels of keys that are indented; systems have four or five
_STANDINGS = {KeyStanding.RESERVED: "reserved", KeyStanding.RETIRED: "retired"}


def as_text(chart: AccessChart, width: int = 80, most: int | None = None) -> str:
    """The chart in lines of at most ``width`` columns (40 and more); ends with a line break.

    A single name longer than a line is printed whole on a line of its own. ``most`` = doors to
    list; a chart with more doors or keys is shortened, and says so: keys that have none below them
    then share a line with their neighbours.
    """
    width = max(width, _NARROWEST)
    marks = sum(len(row) for row in chart.openers)
    cylinders = sum(door.count for door in chart.doors)
    counts = [_many(len(chart.doors), "door"), _many(len(chart.keys), "key"), _many(marks, "mark")]
    if cylinders != len(chart.doors):
        counts.insert(1, _many(cylinders, "cylinder"))
    if most is None or max(len(chart.doors), len(chart.keys)) <= most:
        body = _matrix(chart, width) or _lists(chart, width)
        tree = _key_lines(chart, width)
    else:
        body = _lists(chart, width, most)
        tree = _short_tree(chart, width)
    lines = [", ".join(counts), "", *body, "", "Keys", *tree]
    return "\n".join(line.rstrip() for line in lines) + "\n"


def _many(count: int, noun: str) -> str:
    return f"{count} {noun}" if count == 1 else f"{count} {noun}s"


def columns(text: str) -> int:
    """How many columns of a terminal a text takes."""
    wide = sum(unicodedata.east_asian_width(sign) in "WF" for sign in text)
    return len(text) + wide - sum(unicodedata.combining(sign) != 0 for sign in text)


def _pad(text: str, width: int) -> str:
    return text + " " * (width - columns(text))


def _matrix(chart: AccessChart, width: int) -> list[str]:
    """Marks in columns, or nothing when they do not fit or doors have more to say."""
    if any(_door_facts(door) for door in chart.doors):
        return []
    first = max((columns(door.name) for door in chart.doors), default=0)
    widths = [columns(key.name) for key in chart.keys]
    if first + sum(size + 1 for size in widths) > width:
        return []
    lines = [_pad("", first) + "".join(f" {key.name}" for key in chart.keys)]
    for door, row in zip(chart.doors, chart.openers, strict=True):
        marks = set(row)
        cells = [_pad("x" if k in marks else ".", size) for k, size in enumerate(widths)]
        lines.append(_pad(door.name, first) + "".join(f" {cell}" for cell in cells))
    return lines


def _lists(chart: AccessChart, width: int, most: int | None = None) -> list[str]:
    shown = chart.doors[:most]
    first = min(width // 3, max((columns(door.name) for door in shown), default=0))
    lines: list[str] = []
    for door, row in zip(shown, chart.openers[:most], strict=True):
        facts = _door_facts(door)
        words = [chart.keys[k].name for k in row] + ([f"({'; '.join(facts)})"] if facts else [])
        lines += _hanging(door.name, words, first, width)
    left = len(chart.doors) - len(shown)
    return [*lines, f"... and {_many(left, 'more door')}"] if left else lines


def _hanging(name: str, words: Sequence[str], first: int, width: int) -> list[str]:
    """A name and words beside it; on the next line where the name is too long."""
    indent = " " * (first + 2)
    lines = [] if columns(name) <= first else [name]
    current = _pad(name, first) + "  " if not lines else indent
    empty = True
    for word in " ".join(words).split(" "):
        if not empty and columns(current) + 1 + columns(word) > width:
            lines.append(current)
            current, empty = indent, True
        current += word if empty else f" {word}"
        empty = False
    return [*lines, current]


def _door_facts(door: Door) -> list[str]:
    facts = [
        ("opening", door.opening),
        ("cylinder", door.cylinder),
        ("hardware", door.hardware),
        ("keyway", door.keyway),
        ("except", " ".join(door.excepted)),
        ("unpinned", " ".join(map(str, door.unpinned))),
        ("core group", door.core_group),
    ]
    told = [f"{name} {value}" for name, value in facts if value]
    return ([f"{door.count} cylinders"] if door.count != 1 else []) + told


def _key_lines(chart: AccessChart, width: int) -> list[str]:
    members: dict[str, list[int]] = defaultdict(list)
    for index, key in enumerate(chart.keys):
        members[key.under].append(index)
    doors = chart.doors_of()
    lines: list[str] = []
    pending = [(0, index) for index in reversed(members[""])]
    while pending:
        depth, index = pending.pop()
        key = chart.keys[index]
        indent = "  " * min(depth, _DEEPEST)
        text = f"{indent}{key.name}: {', '.join(_key_facts(key, len(doors[index])))}"
        lines += textwrap.wrap(
            text, width, subsequent_indent=f"{indent}    ", break_long_words=False
        )
        pending += [(depth + 1, one) for one in reversed(members[key.name])]
    return lines


def _short_tree(chart: AccessChart, width: int) -> list[str]:
    """The tree of keys with the lowest keys of one master on one line."""
    members: dict[str, list[Key]] = defaultdict(list)
    for key in chart.keys:
        members[key.under].append(key)
    doors = {
        key.name: len(opened) for key, opened in zip(chart.keys, chart.doors_of(), strict=True)
    }
    lines: list[str] = []
    pending = [(0, "")]
    while pending:
        depth, master = pending.pop()
        if master:
            text = f"{'  ' * min(depth - 1, _DEEPEST)}{master}: {_many(doors[master], 'door')}"
            lines += textwrap.wrap(text, width, break_long_words=False)
        lowest = [key for key in members[master] if key.name not in members]
        if lowest:
            text = lowest[0].name
            if len(lowest) > 1:
                text += f" to {lowest[-1].name}: {len(lowest)} keys"
            lines += textwrap.wrap(
                "  " * min(depth, _DEEPEST) + text, width, break_long_words=False
            )
        above = [key.name for key in members[master] if key.name in members]
        pending += [(depth + 1, name) for name in reversed(above)]
    return lines


def _key_facts(key: Key, doors: int) -> list[str]:
    facts = [_STANDINGS.get(key.standing) or _many(doors, "door")]
    if key.copies is not None:
        facts.append("1 copy" if key.copies == 1 else f"{key.copies} copies")
    if key.given:
        facts.append("cuts given")
    if key.blank:
        facts.append(f"blank {key.blank}")
    if key.room is not None:
        facts.append(f"room for {key.room} more")
    return facts + ([key.note] if key.note else [])
