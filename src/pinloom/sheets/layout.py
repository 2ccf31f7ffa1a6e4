"""The layout on paper: below the bitting list, for whoever extends the system by hand."""

from collections.abc import Iterator

from pinloom.core.job import Job
from pinloom.core.layoutrows import LEGEND, group_name, layout_lines, moved, next_lines
from pinloom.sheets.blocks import Block, Heading, Table, Text

INDENT = "\N{NO-BREAK SPACE}" * 2


def layout_blocks(job: Job) -> Iterator[Block]:
    """What keys carry under each master, the next combinations, and who does not follow."""
    layout, made = job.layout, job.key_format
    if layout is None or not layout.groups:
        return
    places = tuple(str(i) for i in range(1, made.chambers + 1))
    yield Heading(text="Layout: what keys carry under each master")
    yield Table(
        heads=("under", *places, "keys"),
        rows=tuple(
            (INDENT * line.depth + line.name, *line.cells, line.keys) for line in layout_lines(job)
        ),
        widths=("auto", *("auto" for _ in places), "auto"),
        centred=frozenset(places),
        name="layout",
    )
    yield Text(text=LEGEND)
    rows = tuple(
        (line.name, ", ".join(line.unused) or "none left", f"{line.left:,}")
        for line in next_lines(layout, made)
    )
    if rows:
        yield Table(
            heads=("next under", "unused, in order", "left"),
            rows=rows,
            widths=("auto", "auto", "auto"),
            name="next combinations",
        )
        yield Text(
            text="Each fits a new key with a door of its own under the same masters, nothing else "
            "touched, one or all of them. Prove what you cut before you hand it out."
        )
    loose = [group_name(one) for one in layout.groups if not one.parts and not one.carried]
    for words, names in (
        ("No regular layout", loose),
        ("In no group", layout.crossing),
        ("Cut otherwise", moved(layout)),
    ):
        if names:
            yield Text(text=f"{words}: {', '.join(names)}.")
