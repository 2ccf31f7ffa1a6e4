"""The cutting list: keys by blank in the order of one pass at the machine, with gauge checks."""

from collections.abc import Iterator, Sequence

from pinloom.core.bench import KeyCutting, Part, PartKind
from pinloom.core.bitting import Bitting
from pinloom.core.chart import KeyStanding
from pinloom.core.job import Job
from pinloom.core.names import natural
from pinloom.sheets.blocks import Block, Cell, Heading, Table, Text, Ticks
from pinloom.sheets.order import KeyControl, SheetOrder
from pinloom.sheets.profiles import positions_rows, roots_rows, stop_words
from pinloom.sheets.stamps import stamps

GAUGE_EVERY = 200
GAP = "\u2002"  # between the cuts of a key on paper


def all_cuts(job: Job) -> tuple[tuple[str, Bitting], ...]:
    """Every key with its cuts, control keys last."""
    controls = [
        (f"control:{one.group}" if one.group else "control", one.levels) for one in job.controls
    ]
    keys = [key.name for key in job.chart.keys]
    return (*zip(keys, job.bittings, strict=True), *controls)


def cutting(order: SheetOrder) -> Iterator[Block]:
    """The blocks of the sheet."""
    made = order.job.key_format
    yield Text(text=f"Format {made.name}. {stop_words(made)}")
    where = (
        "where it can be seen in use"
        if order.key_control is KeyControl.VISUAL
        else ("where it cannot be seen with the key in the lock")
    )
    yield Text(
        text=f"Key control: {order.key_control.value}. Stamp each copy {where}: the stamp "
        "and nothing else, no cuts, no place."
    )
    yield Heading(text="Where cuts lie")
    yield Table(
        heads=("position", "from the stop, in", "mm"),
        rows=positions_rows(made),
        widths=("auto", "auto", "auto"),
        centred=frozenset(("position",)),
        name="positions",
    )
    yield Heading(text="Roots: metal left under the cut")
    yield Table(
        heads=("stamped", "depth number", "root, in", "mm"),
        rows=roots_rows(made),
        widths=("auto", "auto", "auto", "auto"),
        centred=frozenset(("stamped", "depth number")),
        name="roots",
    )
    keys = batches(order)
    since = told_since(order)
    if since:
        yield Text(text=since if keys else f"No key is to be cut. {since}", strong=True)
    if told_numbers(order):
        yield Text(text=told_numbers(order), strong=True)
    for blank in dict.fromkeys(one.blank for one in keys):
        mine = [one for one in keys if one.blank == blank]
        yield Heading(text=f"Blank: {blank or 'as for this keyway'}")
        yield _batch_table(order, mine, blank)
    yield Heading(text=f"Gauge checks: the first key and every {GAUGE_EVERY}th")
    yield Text(
        text="Measure the root under each cut. Stop and set the machine up again when one "
        "is off by more than the format's makers allow."
    )
    yield _gauge(order, keys)


def batches(order: SheetOrder) -> list[KeyCutting]:
    """Keys to cut, in the order of one pass: by blank, then by cuts, likes together."""
    active = {k.name: k.standing is KeyStanding.ACTIVE for k in order.job.chart.keys}
    there = cut_already(order)
    wanted = [one for one in order.cutting if active.get(one.key, True) and one.key not in there]
    return sorted(
        wanted,
        key=lambda one: (
            natural(one.blank),
            tuple(-cut.root for cut in one.cuts),
            natural(one.key),
        ),
    )


def cut_already(order: SheetOrder) -> frozenset[str]:
    """Keys, control keys included, that are cut as in the revision before; none where that does
    not count.
    """
    if order.before is None or not order.since_before:
        return frozenset()
    known, now = dict(all_cuts(order.before)), dict(all_cuts(order.job))
    inactive = {k.name for k in order.before.chart.keys if k.standing is not KeyStanding.ACTIVE}
    return frozenset(
        name for name, cuts in now.items() if known.get(name) == cuts and name not in inactive
    )


def to_pin(job: Job, before: Job | None) -> tuple[int, ...]:
    """By door how many cylinders are to be pinned: all, without those that the revision before has
    with the same pins and parts.
    """
    there: dict[str, tuple[object, int]] = {}
    if before is not None:
        there = {
            door.name: ((before.format_of(d).name, before.pinning[d].chambers), door.count)
            for d, door in enumerate(before.chart.doors)
        }
    counts = []
    for d, door in enumerate(job.chart.doors):
        pins, count = there.get(door.name, (None, 0))
        same = pins == (job.format_of(d).name, job.pinning[d].chambers)
        counts.append(max(0, door.count - count) if same else door.count)
    return tuple(counts)


def told_since(order: SheetOrder) -> str:
    """What of the keys is left out, in a sentence; empty where nothing is."""
    there = cut_already(order)
    if order.before is None or not order.since_before:
        return ""
    are = "key is cut already and is" if len(there) == 1 else "keys are cut already and are"
    left = f"{len(there)} {are} left out" if there else "none is left out"
    return (
        f"Keys that are new or cut otherwise since revision {order.before.revision}; {left}. "
        "With --all-keys the sheet has them all."
    )


def copies_of(one: KeyCutting) -> int:
    """How many of a key to cut; one where the chart does not say."""
    return 1 if one.copies is None else one.copies


def numbers_of(order: SheetOrder, one: KeyCutting) -> range:
    """The numbers of a key's copies to cut. Those of a key that is cut otherwise go on from the
    copies of the revision before, so that no two keys have one stamp and different cuts.
    """
    first = 1
    if order.before is not None and order.since_before:
        index = order.before.chart.key_index()
        if one.key in index:
            copies = order.before.chart.keys[index[one.key]].copies
            first += 1 if copies is None else copies
    return range(first, first + copies_of(one))


def told_numbers(order: SheetOrder) -> str:
    """How copies of keys that are cut otherwise are numbered; empty where there are none."""
    keys = batches(order)
    if order.before is None or all(numbers_of(order, one).start == 1 for one in keys):
        return ""
    return (
        f"Copies of keys cut otherwise are numbered on from those of revision "
        f"{order.before.revision}; where the books have more, from their last."
    )


def marks_of(order: SheetOrder) -> dict[str, str]:
    """What is stamped on every key, control keys included, before the number of the copy."""
    job = order.job
    return stamps(
        job.chart, job.key_format, [name for name, _ in all_cuts(job)[len(job.bittings) :]]
    )


def _batch_table(order: SheetOrder, keys: Sequence[KeyCutting], blank: str) -> Table:
    marks = marks_of(order)
    places = tuple(str(i) for i in range(1, order.job.key_format.chambers + 1))
    rows: list[tuple[Cell, ...]] = []
    for one in keys:
        copies = numbers_of(order, one)
        stamp = f"{marks[one.key]}-{copies.start}"
        stamp += f" to -{copies[-1]}" if len(copies) > 1 else ""
        rows.append((one.key, stamp, str(len(copies)), *(cut.stamped for cut in one.cuts), Ticks()))
    return Table(
        heads=("key", "stamp", "copies", *places, "cut"),
        rows=tuple(rows),
        widths=("auto", "auto", "auto", *("auto" for _ in places), "1fr"),
        centred=frozenset(("copies",)),
        name=f"cutting {blank}".strip(),
        joined=places,
        joined_head=f"cuts 1 to {len(places)}",
        joint=GAP,
    )


def _gauge(order: SheetOrder, keys: Sequence[KeyCutting]) -> Table:
    places = order.job.key_format.chambers
    rows: list[tuple[Cell, ...]] = []
    number = 0
    for one in keys:
        for copy in numbers_of(order, one):
            number += 1
            if number == 1 or number % GAUGE_EVERY == 0:
                roots = " ".join(
                    Part(kind=PartKind.BOTTOM, length=cut.root).inch().lstrip("0")
                    for cut in one.cuts
                )
                rows.append((str(number), f"{one.key}, copy {copy}", roots, "____ " * places))
    return Table(
        heads=("key no.", "key", "roots wanted, in", "measured"),
        rows=tuple(rows),
        widths=("auto", "1fr", "auto", "auto"),
        name="gauge checks",
    )
