"""The bench's set: everything a bench needs to cut and pin one revision, and to try it.

Bitting list, pinning chart, drawings, cutting list with gauge checks, parts and purchase list, work
estimate, test sheet, tags, true-scale profiles. Nobody else's: these pages hold every cut.
"""

from collections.abc import Iterator, Sequence
from decimal import Decimal

from pinloom.core.bench import Part, PartKind
from pinloom.core.chart import KeyStanding
from pinloom.core.job import Job
from pinloom.core.names import natural
from pinloom.sheets.blocks import (
    Block,
    Card,
    Cards,
    Cell,
    Drawing,
    Heading,
    PageBreak,
    Points,
    Set,
    Sheet,
    Table,
    Tag,
    Tags,
    Text,
    Ticks,
)
from pinloom.sheets.cutlist import (
    GAP,
    all_cuts,
    batches,
    copies_of,
    cutting,
    marks_of,
    numbers_of,
    to_pin,
    told_numbers,
    told_since,
)
from pinloom.sheets.layout import layout_blocks
from pinloom.sheets.order import Minutes, SheetOrder
from pinloom.sheets.owner import door_words
from pinloom.sheets.profiles import profile_scenes, stop_words
from pinloom.sheets.section import section_scene
from pinloom.sheets.stamps import code
from pinloom.sheets.trial import Trial, trial_table

_NAMES = {
    PartKind.BOTTOM: "bottom pin",
    PartKind.MASTER: "master pin",
    PartKind.BUILDUP: "build-up pin",
    PartKind.DRIVER: "driver",
    PartKind.SECURITY_DRIVER: "security driver",
    PartKind.SPRING: "spring",
}


def bench_sheets(order: SheetOrder) -> tuple[Sheet, ...]:
    """The sheets of the bench's set, in order."""
    made = (
        ("bittings", "Bitting list", _bittings(order)),
        ("pinning", "Pinning chart", _pinning(order)),
        ("sections", "Cylinders in section", _sections(order)),
        ("cutting", "Cutting list", cutting(order)),
        ("parts", "Parts and purchase list", _parts(order)),
        ("work", "Work estimate", _work(order)),
        ("tests", "Test sheet", _tests(order)),
        ("tags", "Key tags and cylinder labels", _tags(order)),
        ("profiles", "Key profiles at true scale", _profiles(order)),
    )
    return tuple(
        Sheet(name=name, title=title, set=Set.BENCH, blocks=tuple(blocks))
        for name, title, blocks in made
    )


def _bittings(order: SheetOrder) -> Iterator[Block]:
    job, made = order.job, order.job.key_format
    yield Text(
        text=f"Format {made.name}. {stop_words(made)} Depth numbers, shallowest first: "
        + ", ".join(str(depth.number) for depth in made.depths)
        + "."
    )
    places = tuple(str(i) for i in range(1, made.chambers + 1))
    standing = {key.name: key.standing for key in job.chart.keys}
    rows = [
        (
            name,
            *(str(made.number_of(level)) for level in levels),
            made.stamp(levels),
            _standing(standing.get(name)),
        )
        for name, levels in all_cuts(job)
    ]
    # A column that says nothing is left out.
    kept = len(places) + 2 + any(row[-1] for row in rows)
    yield Table(
        heads=("key", *places, "as read", "standing")[:kept],
        rows=tuple(row[:kept] for row in rows),
        widths=("auto", *("auto" for _ in places), "auto", "1fr")[:kept],
        name="bitting list",
        joined=places,
        joined_head=f"cuts 1 to {len(places)}",
        joint=GAP,
    )
    yield from layout_blocks(job)


def _standing(standing: KeyStanding | None) -> str:
    if standing is None:
        return "control key: never handed out"
    return "" if standing is KeyStanding.ACTIVE else standing.value


def _pinning(order: SheetOrder) -> Iterator[Block]:
    job = order.job
    yield Text(
        text="One block a cylinder, one line a chamber, filled from left to right. Sizes as the "
        "format calls them: bottom pins by depth number, master and build-up pins in steps. Tick a "
        "line when its chamber is closed."
    )
    if any(made.core is not None for made in job.formats):
        yield Text(text="Cores hold a build-up pin over the master pins.", strong=True)
    yield Cards(
        cards=tuple(
            Card(
                title=door.name,
                under=door_words(door) or job.format_of(number).name,
                table=_chambers(order, number),
            )
            for number, door in enumerate(job.chart.doors)
        )
    )


def _chambers(order: SheetOrder, door: int) -> Table:
    core = order.job.format_of(door).core is not None
    boxes = Ticks(count=min(order.job.chart.doors[door].count, 6))
    rows: list[tuple[Cell, ...]] = []
    for number, parts in enumerate(order.pins[door], start=1):
        kinds: tuple[tuple[PartKind, ...], ...] = ((PartKind.BOTTOM,), (PartKind.MASTER,))
        kinds += ((PartKind.BUILDUP,),) if core else ()
        kinds += ((PartKind.DRIVER, PartKind.SECURITY_DRIVER),)
        cells = [_sizes(parts, kind) for kind in kinds]
        rows.append((str(number), *(cells if parts else ["none", *cells[1:]]), boxes))
    heads = ("ch.", "bottom", "master", *(("build-up",) if core else ()), "driver", "closed")
    return Table(
        heads=heads,
        rows=tuple(rows),
        widths=("auto", *("2.6fr" for _ in heads[3:]), "1fr", "auto"),
        centred=frozenset(("ch.", "closed")),
        joined=heads[1:-2],
        joined_head=" + ".join(heads[1:-2]),
        joint=" + ",
    )


def _sizes(parts: Sequence[Part], kinds: Sequence[PartKind]) -> str:
    return " + ".join(
        f"{part.size} ({part.inch().lstrip('0')})" if part.length is not None else part.size
        for part in parts
        if part.kind in kinds
    )


def _sections(order: SheetOrder) -> Iterator[Block]:
    """The cylinder with most master pins, once with a key that turns and once with one it holds;
    for cores also with the control key.
    """
    job = order.job
    if not job.pinning:
        return
    trial = Trial(job)
    door = max(range(len(job.pinning)), key=lambda d: (job.pinning[d].master_pins(), -d))
    made, cylinder = job.format_of(door), job.pinning[door]
    must, barred = trial.must_open(door), trial.nearest(door, 1)
    yield Text(text="The cylinder of this job with the most master pins.")
    for key in (*must[-1:], *barred):
        scene = section_scene(
            made,
            cylinder,
            job.bittings[key],
            key_format=job.key_format,
            key_name=job.chart.keys[key].name,
        )
        caption = f"{cylinder.door}. {scene.told} Not to scale: {', '.join(scene.schematic)}."
        yield Drawing(scene=scene, caption=caption)
    group = job.chart.doors[door].core_group
    for control in job.controls:
        if made.core is not None and control.group in ("", group):
            scene = section_scene(
                made,
                cylinder,
                control.levels,
                key_format=job.key_format,
                at_control=True,
                key_name="control",
            )
            yield Drawing(scene=scene, caption=f"{cylinder.door}. {scene.told}")


def _parts(order: SheetOrder) -> Iterator[Block]:
    share = order.spoilage
    yield Text(
        text=f"Counted from this job's pins and copies; to buy = needed and {share} % for "
        "spoilage, rounded up."
    )
    yield Heading(text="Pins and springs")
    if order.before is not None and order.since_before:
        yield Text(text=_told_pins(order, order.before))
    yield Table(
        heads=("part", "size", "length, in", "mm", "needed", "to buy", "on hand"),
        rows=tuple(
            (
                _NAMES[one.part.kind],
                one.part.size,
                one.part.inch(),
                one.part.mm(),
                str(one.count),
                str(with_spoilage(one.count, share)),
                "",
            )
            for one in order.parts
        ),
        widths=("40mm", "auto", "auto", "auto", "auto", "auto", "1fr"),
        centred=frozenset(("needed", "to buy")),
        name="parts",
    )
    yield Heading(text="Blanks")
    if told_since(order):
        yield Text(text=told_since(order))
    keys = batches(order)
    rows: list[tuple[Cell, ...]] = []
    for blank in dict.fromkeys(one.blank for one in keys):
        needed = sum(copies_of(one) for one in keys if one.blank == blank)
        rows.append(
            (blank or "as for this keyway", str(needed), str(with_spoilage(needed, share)), "")
        )
    yield Table(
        heads=("blank", "copies to cut", "to buy", "on hand"),
        rows=tuple(rows),
        widths=("40mm", "auto", "auto", "1fr"),
        centred=frozenset(("copies to cut", "to buy")),
        name="blanks",
    )
    unsaid = [one.key for one in keys if one.copies is None]
    if unsaid:
        yield Text(text=f"The chart names no copies for {len(unsaid)} keys; one each is counted.")


def _told_pins(order: SheetOrder, before: Job) -> str:
    """Which cylinders the pins are counted for, where these are not all."""
    counts = to_pin(order.job, before)
    anew, since = sum(counts), f"new or pinned otherwise since revision {before.revision}"
    left = sum(door.count for door in order.job.chart.doors) - anew
    if not anew:
        return f"No cylinder is {since}. With --all-keys the sheet counts them all."
    one, are = anew == 1, "is" if left == 1 else "are"
    return (
        f"For the {anew:,} {'cylinder that is' if one else 'cylinders that are'} {since}, with "
        f"all pins, though some of those inside may stay. {left:,} with the pins of then {are} "
        "left out; with --all-keys the sheet counts them all."
    )


def with_spoilage(count: int, percent: int) -> int:
    """A count with its spoilage, rounded up."""
    return count + -(-count * percent // 100)


def _work(order: SheetOrder) -> Iterator[Block]:
    job = order.job
    counts = {"cylinders": 0, "cores": 0}
    for number, count in enumerate(to_pin(job, order.before if order.since_before else None)):
        core = job.format_of(number).core is not None
        counts["cores" if core else "cylinders"] += count
    keys = sum(copies_of(one) for one in batches(order))
    minutes = order.minutes
    yield Text(text="Counted with the shop's own minutes; a blank stays blank until the shop says.")
    if order.before is not None and order.since_before:
        yield Text(text=f"Only what is new or other since revision {order.before.revision}.")
    rows = (
        _effort("cylinders to pin", counts["cylinders"], minutes.cylinder),
        _effort("cores to pin", counts["cores"], minutes.core),
        _effort("keys to cut and stamp", keys, minutes.key),
    )
    yield Table(
        heads=("work", "how many", "minutes each", "hours"),
        rows=rows,
        widths=("60mm", "auto", "auto", "1fr"),
        centred=frozenset(("how many", "minutes each", "hours")),
        name="work",
    )
    total = _total(counts["cylinders"], counts["cores"], keys, minutes)
    yield Text(
        text="In all: " + (f"{total} hours" if total is not None else "____ hours"), strong=True
    )


def _effort(work: str, count: int, each: Decimal | None) -> tuple[str, str, str, str]:
    hours = "____" if each is None else _hours(each * count)
    return work, str(count), "____" if each is None else str(each), hours


def _total(cylinders: int, cores: int, keys: int, minutes: Minutes) -> str | None:
    pairs = ((cylinders, minutes.cylinder), (cores, minutes.core), (keys, minutes.key))
    if any(count and each is None for count, each in pairs):
        return None
    return _hours(sum((count * each for count, each in pairs if each is not None), Decimal(0)))


def _hours(minutes: Decimal) -> str:
    return f"{minutes / 60:.1f}"


def _tests(order: SheetOrder) -> Iterator[Block]:
    yield Points(
        texts=(
            "Try each key several times, in and out, turned both ways, with the door open first.",
            'A key under "must not" is the nearest of all keys that must be refused: lean on it.',
            "Then, from inside, without a key: every way out opens as the codes ask.",
        )
    )
    yield trial_table(order.job)


def _tags(order: SheetOrder) -> Iterator[Block]:
    job = order.job
    marks = marks_of(order)
    counts = to_pin(job, order.before if order.since_before else None)
    yield Heading(text="Keys")
    if told_numbers(order):
        yield Text(text=told_numbers(order))
    yield Tags(
        tags=tuple(
            Tag(code=code(job.name, "key", f"{one.key}\n{copy}"), title=f"{marks[one.key]}-{copy}")
            for one in sorted(batches(order), key=lambda one: natural(one.key))
            for copy in numbers_of(order, one)
        )
    )
    yield PageBreak()
    yield Heading(text="Cylinders")
    yield Tags(
        tags=tuple(
            Tag(
                code=code(job.name, "cylinder", f"{door.name}\n{number}"),
                title=door.name,
                under=f"{number} of {door.count}" if door.count > 1 else "",
            )
            for door, count in zip(job.chart.doors, counts, strict=True)
            for number in range(door.count - count + 1, door.count + 1)
        )
    )


def _profiles(order: SheetOrder) -> Iterator[Block]:
    made = order.job.key_format
    for number, scene in enumerate(profile_scenes(made, all_cuts(order.job))):
        if number:
            yield PageBreak()
        yield Drawing(scene=scene, caption="Not to scale: " + ", ".join(scene.schematic) + ".")
