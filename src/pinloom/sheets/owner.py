"""The owner's set: who opens what, for the keying meeting and the file. It holds no cut and no pin.

Keying schedule, hierarchy, audit summary, receipts. Counts are written with separators between
thousands, so that no figure can be taken for a cut.
"""

from collections.abc import Iterator, Sequence

from pinloom.core.chart import AccessChart, Door, KeyStanding
from pinloom.core.job import Job
from pinloom.sheets.blocks import (
    Block,
    Cell,
    Drawing,
    Facts,
    Heading,
    Points,
    Set,
    Sheet,
    Signatures,
    Table,
    Text,
)
from pinloom.sheets.order import SheetOrder
from pinloom.sheets.stamps import stamps
from pinloom.sheets.tree import below, tree_scenes

MATRIX = 20  # keys that still fit side by side on a page
LISTED = 14  # keys written out in a row before they are gathered under their masters
WORST = 40  # doors of the audit's summary
CAUTIONS = (
    "Authorised work only: the owner's written order comes first.",
    "Egress and fire doors: people inside leave without a key, a tool or knowledge.",
    "This schedule says who may come in, never who may get out.",
    "Fire doors close and latch after the work as before it.",
    "Fire-service key boxes are updated before the rekey; lift and fire-service keys stay off it.",
    '"Proved" means nominal geometry: every cylinder is tried by hand before it is handed over.',
    "Local codes, the authority having jurisdiction and licensed practice decide.",
)
_RECEIPT = (
    "I have received the key named here. It stays the owner's property.",
    "I will not lend it, copy it or have it copied, and will not mark it with a place or a name.",
    "I will report its loss at once, and give it back when I am asked or no longer need it.",
    "It gives me no leave to block, lock or alter a way out or a fire door.",
)


def owner_sheets(order: SheetOrder) -> tuple[Sheet, ...]:
    """The sheets of the owner's set, in order."""
    job = order.job
    made = (
        ("schedule", "Keying schedule", _schedule(order)),
        ("hierarchy", "Hierarchy of keys", _hierarchy(job)),
        ("exposure", "Audit summary", _audit(order)),
        ("receipts", "Key receipts", _receipts(order)),
    )
    return tuple(
        Sheet(name=name, title=title, set=Set.OWNER, blocks=tuple(blocks))
        for name, title, blocks in made
    )


def _schedule(order: SheetOrder) -> Iterator[Block]:
    job = order.job
    chart = job.chart
    cylinders = sum(door.count for door in chart.doors)
    yield Facts(
        pairs=(
            ("Job", job.name),
            ("Revision", str(job.revision)),
            ("Approval", order.approved_by or "not approved; nothing may be cut or pinned"),
            (
                "Doors, cylinders, keys",
                f"{_count(len(chart.doors))}, {_count(cylinders)}, {_count(len(chart.keys))}",
            ),
            ("Proof", "every key was tried in every cylinder; each opens exactly its doors"),
        )
    )
    yield Heading(text="What changed since the revision before")
    yield Points(texts=tuple(changed(order.before, job)))
    if len(chart.keys) <= MATRIX:
        yield Heading(text="Who opens what")
        yield _matrix(chart)
    yield Heading(text="Doors")
    yield _doors(chart)
    yield Heading(text="Keys")
    yield _keys(chart)
    yield from _special(chart)
    yield Heading(text="Cautions")
    yield Points(texts=CAUTIONS)
    yield Heading(text="Agreed at the keying meeting")
    yield Signatures(
        lines=(
            "For the owner: name, date, signature",
            "For the occupants: name, date, signature",
            "Locksmith: name, licence where one is needed, date, signature",
            "Fire and life safety: name, date, signature",
        )
    )


def changed(before: Job | None, now: Job) -> Iterator[str]:
    """What changed, without any cut."""
    if before is None:
        yield "No earlier revision is on record here: nothing to compare."
        return
    lines = [*_key_changes(before, now), *_door_changes(before, now)]
    yield f"Compared with revision {before.revision}."
    yield from lines or ["No change to doors, keys or who opens what."]


def _key_changes(before: Job, now: Job) -> Iterator[str]:
    old, new = before.chart.key_index(), now.chart.key_index()
    for what, names in (
        ("Keys added", [name for name in new if name not in old]),
        ("Keys dropped", [name for name in old if name not in new]),
        (
            "Keys cut anew",
            [n for n in new if n in old and before.bittings[old[n]] != now.bittings[new[n]]],
        ),
        (
            "Keys with another standing",
            [
                f"{n} (now {now.chart.keys[new[n]].standing.value})"
                for n in new
                if n in old
                and before.chart.keys[old[n]].standing is not now.chart.keys[new[n]].standing
            ],
        ),
    ):
        if names:
            yield f"{what}: {', '.join(names)}."


def _door_changes(before: Job, now: Job) -> Iterator[str]:
    old, new = before.chart.door_index(), now.chart.door_index()
    both = [name for name in new if name in old]
    for what, names in (
        ("Doors added", [name for name in new if name not in old]),
        ("Doors dropped", [name for name in old if name not in new]),
        (
            "Cylinders pinned anew",
            [n for n in both if before.pinning[old[n]].chambers != now.pinning[new[n]].chambers],
        ),
    ):
        if names:
            yield f"{what}: {', '.join(names)}."
    for name in both:
        was = {before.chart.keys[k].name for k in before.chart.openers[old[name]]}
        now_opens = {now.chart.keys[k].name for k in now.chart.openers[new[name]]}
        gained, lost = sorted(now_opens - was), sorted(was - now_opens)
        if gained or lost:
            parts = [f"now also {', '.join(gained)}"] if gained else []
            parts += [f"no longer {', '.join(lost)}"] if lost else []
            yield f"{name}: {'; '.join(parts)}."


def _matrix(chart: AccessChart) -> Table:
    heads = ("door", *(key.name for key in chart.keys))
    return Table(
        heads=heads,
        rows=tuple(
            (door.name, *("x" if k in row else "" for k in range(len(chart.keys))))
            for door, row in zip(chart.doors, chart.openers, strict=True)
        ),
        widths=("1fr", *("auto" for _ in chart.keys)),
        centred=frozenset(heads[1:]),
    )


def _doors(chart: AccessChart) -> Table:
    under = below(chart)
    return Table(
        heads=("door", "opening", "cylinders", "opened by", "set apart"),
        rows=tuple(
            (
                door.name,
                door.opening,
                str(door.count),
                ", ".join(told_keys(chart, row, under)),
                ", ".join(door.excepted),
            )
            for door, row in zip(chart.doors, chart.openers, strict=True)
        ),
        widths=("2fr", "1.2fr", "auto", "4fr", "auto"),
        centred=frozenset(("cylinders",)),
    )


def told_keys(
    chart: AccessChart, row: Sequence[int], under: dict[int, frozenset[int]]
) -> list[str]:
    """The keys of a door by name; many keys are gathered as "all under" their master."""
    if len(row) <= LISTED:
        return [chart.keys[k].name for k in row]
    left = set(row)
    told = []
    for key in sorted(row, key=lambda k: (-len(under[k]), k)):
        if key not in left:
            continue
        if len(under[key]) > 1 and under[key] <= left:
            told.append(f"{chart.keys[key].name} and all {_count(len(under[key]))} under it")
            left -= under[key] | {key}
        else:
            told.append(chart.keys[key].name)
            left.discard(key)
    return told


def _keys(chart: AccessChart) -> Table:
    opened = chart.doors_of()
    return Table(
        heads=("key", "under", "doors", "copies", "standing", "note"),
        rows=tuple(
            (
                key.name,
                key.under,
                _count(len(doors)),
                "" if key.copies is None else _count(key.copies),
                "" if key.standing is KeyStanding.ACTIVE else key.standing.value,
                key.note,
            )
            for key, doors in zip(chart.keys, opened, strict=True)
        ),
        widths=("auto", "auto", "auto", "auto", "auto", "1fr"),
        centred=frozenset(("doors", "copies")),
    )


def _special(chart: AccessChart) -> Iterator[Block]:
    """Cross-keyed and excepted doors, named one by one so that the meeting sees them."""
    sets = [set(doors) for doors in chart.doors_of()]
    crossed = [
        f"{door.name}: {', '.join(told)}"
        for door, row in zip(chart.doors, chart.openers, strict=True)
        if (told := _side_by_side(chart, row, sets))
    ]
    apart = [
        f"{door.name}: not for {', '.join(door.excepted)}" for door in chart.doors if door.excepted
    ]
    yield Heading(text="Cross-keyed doors: keys of different holders side by side")
    yield Points(texts=tuple(crossed) or ("None.",))
    yield Heading(text="Doors set apart from a master")
    yield Points(texts=tuple(apart) or ("None.",))


def _side_by_side(chart: AccessChart, row: Sequence[int], sets: Sequence[set[int]]) -> list[str]:
    """The narrowest keys of a door, where there are several."""
    if not row:
        return []
    least = min(row, key=lambda k: (len(sets[k]), k))
    if all(sets[least] <= sets[key] for key in row):
        return []
    narrow = [k for k in row if not any(sets[o] < sets[k] for o in row)]
    names = [chart.keys[k].name for k in narrow]
    return names if len(names) <= LISTED else [*names[:LISTED], f"and {len(names) - LISTED} more"]


def _hierarchy(job: Job) -> Iterator[Block]:
    yield Text(
        text="Each key stands under the narrowest key that opens all its doors. Keys at the left "
        "edge stand under nobody."
    )
    for scene in tree_scenes(job.chart):
        yield Drawing(scene=scene)


def _audit(order: SheetOrder) -> Iterator[Block]:
    digest = order.audit
    if digest is None:
        yield Text(text="No audit was asked for.")
        return
    yield Text(
        text="How many keys that nobody ordered would work too. The figures are for defence: they "
        "show where a door deserves a cylinder off the masters, fewer master pins or restricted "
        "blanks."
    )
    yield Facts(pairs=digest.facts)
    yield Heading(text=f"Doors, most unintended combinations first (at most {WORST})")
    yield Table(
        heads=("door", "exact", "tolerant", "issued among them"),
        rows=tuple(
            (line.door, _count(line.exact), _count(line.tolerant), _count(line.issued))
            for line in digest.doors[:WORST]
        ),
        widths=("1fr", "auto", "auto", "auto"),
        centred=frozenset(("exact", "tolerant", "issued among them")),
    )
    if digest.advice:
        yield Heading(text="What lowers them")
        yield Points(texts=digest.advice)


def _receipts(order: SheetOrder) -> Iterator[Block]:
    job = order.job
    marks = stamps(job.chart, job.key_format)
    yield Heading(text="Receipt")
    yield Facts(
        pairs=(
            ("Key and stamp", "." * 60),
            ("Holder", "." * 60),
            ("Due back", "." * 60),
        )
    )
    yield Points(texts=_RECEIPT)
    yield Signatures(lines=("Holder: date, signature", "Handed out by: date, signature"))
    yield Heading(text="Register of copies")
    rows: list[tuple[Cell, ...]] = []
    for key in job.chart.keys:
        if key.standing is KeyStanding.ACTIVE:
            copies = 1 if key.copies is None else key.copies
            rows += [
                (key.name, f"{marks[key.name]}-{copy}", "", "", "", "")
                for copy in range(1, copies + 1)
            ]
    yield Table(
        heads=("key", "stamp", "holder", "handed out", "signature", "back"),
        rows=tuple(rows),
        widths=("auto", "auto", "1fr", "22mm", "1fr", "22mm"),
    )


def _count(number: int) -> str:
    return f"{number:,}"


def door_words(door: Door) -> str:
    """What a card says below a door's name."""
    parts = [door.opening, door.cylinder, door.keyway and f"keyway {door.keyway}"]
    if door.count > 1:
        parts.append(f"{door.count} cylinders alike")
    return " · ".join(part for part in parts if part)
