"""Work orders of a staged change after a key was lost: who does what in which trip.

Two papers of the same trips. The owner's names doors, keys to hand out and to take back, and what
is exposed meanwhile; it holds no cut and no pin. The bench's has the old and the new pins of every
cylinder in walking order and the cuts of the lost key, which a trial copy needs. A door is not done
until that copy was tried in it and refused: both papers have the lines for it.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace

from pinloom.core.bench import Part, PartKind
from pinloom.core.job import Job
from pinloom.sheets.blocks import (
    Block,
    Card,
    Cards,
    Cell,
    Facts,
    Heading,
    PageBreak,
    Paper,
    Points,
    Set,
    Sheet,
    Signatures,
    Table,
    Text,
    Ticks,
)
from pinloom.sheets.cutlist import GAP
from pinloom.sheets.owner import CAUTIONS, door_words
from pinloom.sheets.paper import face_of, note_of, to_pdf
from pinloom.sheets.stamps import stamps
from pinloom.sheets.trial import Trial
from pinloom.sheets.workbook import to_workbook

OWNER, BENCH, WORKBOOK = "order-owner.pdf", "order-bench.pdf", "order-bench.xlsx"
LISTED = 40  # names in a sentence before it says how many more there are
MEANWHILE = (
    "Walk past these doors more often, at hours that nobody can foretell.",
    "Where a door has a second lock, an alarm or a bolt from inside, use it.",
    "Tell those who work behind them, and have them report a key that nobody knows.",
    "Bring the next trip forward where it can be: time is what the exposure is made of.",
)
DONE = (
    "A door is not done until a key with the cuts of the lost one was tried in it and refused.",
    "For that one copy is cut, stamped TRIAL, signed for, and destroyed with a witness at the end.",
    "Then every key that must open the door is tried, and the door from inside without a key.",
)


@dataclass(frozen=True, slots=True, kw_only=True)
class TripSheet:
    """One trip. ``meanwhile`` = (key, door) openings until a later trip; ``day`` from 1."""

    doors: tuple[str, ...]
    hand_out: tuple[str, ...]
    take_back: tuple[str, ...]
    exposed: tuple[str, ...]
    meanwhile: tuple[tuple[str, str], ...]
    day: int


@dataclass(frozen=True, slots=True, kw_only=True)
class TripOrder:
    """A plan with both its ends. ``pins`` and ``old_pins`` = parts by door and chamber, bottom-up;
    ``swap`` = cores are swapped for spares that were pinned at the bench.
    """

    job: Job
    before: Job
    lost: str
    lost_copy: str
    exposed: tuple[str, ...]
    beyond: tuple[str, ...]
    recut: tuple[str, ...]
    trips: tuple[TripSheet, ...]
    pins: Mapping[str, tuple[tuple[Part, ...], ...]]
    old_pins: Mapping[str, tuple[tuple[Part, ...], ...]]
    swap: bool
    figures: tuple[tuple[str, str], ...]
    approved_by: str | None
    paper: Paper


def make_orders(order: TripOrder) -> dict[str, bytes]:
    """Both papers and the bench's workbook by name. Raises ValueError for an unproved job."""
    if not order.job.proof.proved:
        raise ValueError("not to be printed: the plan's end is not proved")
    face = face_of(order.job, order.approved_by)
    owner = Sheet(
        name="order", title="Work order: a lost key", set=Set.OWNER, blocks=tuple(_owner(order))
    )
    bench = Sheet(
        name="order",
        title="Work order: a lost key, for the bench",
        set=Set.BENCH,
        blocks=tuple(_bench(order)),
    )
    return {
        OWNER: to_pdf([owner], face, order.paper),
        BENCH: to_pdf([bench], face, order.paper),
        WORKBOOK: to_workbook([replace(bench, blocks=tuple(_book(order)))], note_of(face)),
    }


def _owner(order: TripOrder) -> Iterator[Block]:
    yield from _head(order)
    yield Heading(text="Authority")
    yield Signatures(lines=("Ordered for the owner, name and date", "Locksmith, name and date"))
    for number, trip in enumerate(order.trips, start=1):
        yield PageBreak()
        yield from _trip_head(order, number, trip)
        yield from _handing_out(order, trip)
        yield from _doors(order, number, trip)
        yield from _trial(order, number, trip)
        yield from _after(order, trip)
        yield Signatures(lines=("Done and tried, locksmith", "Seen, for the owner"))


def _bench(order: TripOrder) -> Iterator[Block]:
    made = order.before.key_format
    yield from _head(order)
    yield Heading(text="The trial copy")
    yield Facts(
        pairs=(
            ("cuts of the lost key", made.stamp(order.before.cuts()[order.lost])),
            ("stamp", "TRIAL, and nothing else"),
            ("after the last trip", "destroyed, with a witness"),
        )
    )
    yield from _keys(order)
    for number, trip in enumerate(order.trips, start=1):
        yield PageBreak()
        yield from _trip_head(order, number, trip)
        yield from _cylinders(order, trip)
        yield from _trial(order, number, trip)
        yield from _after(order, trip)
        yield Signatures(lines=("Pinned by, date", "Tried by, date"))


def _book(order: TripOrder) -> Iterator[Block]:
    """The bench's tables, each line of pins a row."""
    yield from _keys(order)
    for number, trip in enumerate(order.trips, start=1):
        yield _pins_table(order, number, trip)
        yield from _trial(order, number, trip)


def _head(order: TripOrder) -> Iterator[Block]:
    last = order.trips[-1].day if order.trips else 1
    yield Facts(
        pairs=(
            ("lost key", order.lost),
            ("doors it opens", f"{len(order.exposed):,}"),
            ("trips", f"{len(order.trips):,}, the last on day {last:,}"),
            *order.figures,
        )
    )
    if order.beyond:
        yield Text(
            text=f"By accident of the pins it also opens: {_names(order.beyond)}.", strong=True
        )
    yield Text(
        text="Every state between two trips is proved: authorised keys work with the copy named "
        "here, and the lost key opens no finished door."
    )
    yield Heading(text="Cautions")
    yield Points(texts=CAUTIONS)
    yield Heading(text="When a door is done")
    yield Points(texts=DONE)


def _trip_head(order: TripOrder, number: int, trip: TripSheet) -> Iterator[Block]:
    doors = order.job.chart.door_index()
    chosen = [order.job.chart.doors[doors[name]] for name in trip.doors]
    cylinders = sum(door.count for door in chosen)
    openings = len({(bool(door.opening), door.opening or door.name) for door in chosen})
    rows = f"; rows of the chart: {len(chosen):,}" if len(chosen) != cylinders else ""
    several = f"; openings: {openings:,}" if openings != len(chosen) else ""
    what = "cores to swap for pinned spares" if order.swap else "cylinders to re-pin"
    yield Heading(text=f"Trip {number} of {len(order.trips)}, day {trip.day:,}")
    yield Facts(
        pairs=(
            (what, f"{cylinders:,}{rows}{several}"),
            ("new keys to hand out first", _names(trip.hand_out) or "none"),
            ("old keys to take back after", _names(trip.take_back) or "none"),
        )
    )


def _handing_out(order: TripOrder, trip: TripSheet) -> Iterator[Block]:
    if trip.hand_out:
        yield Text(
            text="Holders of new keys carry the old one too until it is taken back: the old one "
            "works where a door is not done yet, the new one where it is."
        )
        yield Table(
            heads=("key handed out", "pieces", "received by, date", "old one back, date"),
            rows=tuple((key, str(_pieces(order, key)), "", "") for key in trip.hand_out),
            widths=("auto", "auto", "1fr", "1fr"),
            centred=frozenset(("pieces",)),
        )


def _doors(order: TripOrder, number: int, trip: TripSheet) -> Iterator[Block]:
    index = order.job.chart.door_index()
    yield Heading(text="Doors, in the order of the walk")
    yield Table(
        heads=("", "door", "about it", "cylinders", "done"),
        rows=tuple(
            (
                f"{number}.{place}",
                name,
                door_words(order.job.chart.doors[index[name]]),
                str(order.job.chart.doors[index[name]].count),
                Ticks(count=min(order.job.chart.doors[index[name]].count, 6)),
            )
            for place, name in enumerate(trip.doors, start=1)
        ),
        widths=("auto", "2fr", "2fr", "auto", "auto"),
        centred=frozenset(("cylinders", "done")),
    )


def _trial(order: TripOrder, number: int, trip: TripSheet) -> Iterator[Block]:
    index = order.job.chart.door_index()
    trial = Trial(order.job)
    rows: list[tuple[Cell, ...]] = []
    for place, name in enumerate(trip.doors, start=1):
        must = trial.must_open(index[name])
        openers = len(order.job.chart.openers[index[name]])
        shown = ", ".join(order.job.chart.keys[k].name for k in must)
        shown += f" (of {openers:,})" if len(must) < openers else ""
        rows.append((f"{number}.{place}", name, Ticks(), shown, Ticks(), Ticks()))
    yield Heading(text="Tried in each door")
    yield Table(
        heads=("", "door", "TRIAL refused", "must open", "opens", "way out"),
        rows=tuple(rows),
        widths=("auto", "2fr", "auto", "3fr", "auto", "auto"),
        centred=frozenset(("TRIAL refused", "opens", "way out")),
        name=f"trial of trip {number}",
    )


def _after(order: TripOrder, trip: TripSheet) -> Iterator[Block]:
    later = [one.day for one in order.trips if one.day > trip.day]
    if trip.meanwhile:
        pairs = tuple(f"{key} in {door}" for key, door in trip.meanwhile)
        yield Text(
            text="Until their doors are done or the old copies are back, these open more than they "
            f"shall: {_names(pairs)}."
        )
    if not trip.exposed:
        yield Text(text="After this trip the lost key opens no door of the chart.", strong=True)
        return
    until = f"until day {later[-1]:,} at the latest" if later else "until they are done"
    yield Text(
        text=f"NOT DONE: after this trip the lost key still opens {len(trip.exposed):,} "
        f"{'door' if len(trip.exposed) == 1 else 'doors'}, {until}: {_names(trip.exposed)}.",
        strong=True,
    )
    yield Points(texts=MEANWHILE)


def _keys(order: TripOrder) -> Iterator[Block]:
    made, cuts = order.job.key_format, order.job.cuts()
    marks = stamps(order.job.chart, made)
    yield Heading(text="Keys to cut")
    yield Text(
        text="New pieces have the symbols of the old ones: number them on from those, so that the "
        "two are told apart while both are about."
    )
    yield Table(
        heads=("key", "stamp", "pieces", "cuts", "cut"),
        rows=tuple(
            (
                key,
                marks[key],
                str(_pieces(order, key)),
                GAP.join(str(made.number_of(level)) for level in cuts[key]),
                Ticks(),
            )
            for key in order.recut
        ),
        widths=("auto", "auto", "auto", "auto", "1fr"),
        centred=frozenset(("pieces", "cut")),
        name="keys to cut",
    )


def _cylinders(order: TripOrder, trip: TripSheet) -> Iterator[Block]:
    index = order.job.chart.door_index()
    yield Heading(text="Cylinders, in the order of the walk")
    yield Text(
        text="One block a cylinder, one line a chamber, filled from left to right: bottom pin by "
        "depth number, then master pins in steps"
        + (", build-up pin" if any(m.core is not None for m in order.job.formats) else "")
        + ", driver. Found = what the record says is in it; stop and ask where it is not."
    )
    yield Cards(
        cards=tuple(
            Card(
                title=f"{place}. {name}",
                under=door_words(order.job.chart.doors[index[name]])
                or order.job.format_of(index[name]).name,
                table=_chambers(order, name, order.job.chart.doors[index[name]].count),
            )
            for place, name in enumerate(trip.doors, start=1)
        )
    )


def _chambers(order: TripOrder, name: str, count: int) -> Table:
    old, new = order.old_pins[name], order.pins[name]
    rows: list[tuple[Cell, ...]] = [
        (str(chamber), _sizes(before), _sizes(after), Ticks(count=min(count, 6)))
        for chamber, (before, after) in enumerate(zip(old, new, strict=True), start=1)
    ]
    return Table(
        heads=("ch.", "found", "new pins", "closed"),
        rows=tuple(rows),
        widths=("auto", "2fr", "3fr", "auto"),
        centred=frozenset(("ch.", "closed")),
    )


def _pins_table(order: TripOrder, number: int, trip: TripSheet) -> Table:
    """Two lines a cylinder, as found and new."""
    chambers = max((len(order.pins[name]) for name in trip.doors), default=0)
    places = tuple(f"ch. {n}" for n in range(1, chambers + 1))
    rows: list[tuple[Cell, ...]] = []
    for place, name in enumerate(trip.doors, start=1):
        for state, parts in (("found", order.old_pins[name]), ("new", order.pins[name])):
            told = [_sizes(chamber) for chamber in parts] + [""] * (chambers - len(parts))
            rows.append((f"{number}.{place}", name, state, *told))
    return Table(
        heads=("", "door", "pins", *places),
        rows=tuple(rows),
        widths=("auto", "1fr", "auto", *("auto" for _ in places)),
        name=f"pins of trip {number}",
    )


def _sizes(parts: tuple[Part, ...]) -> str:
    """Bottom-up, sizes only: ``2+2+3 · 4``; the driver stands apart."""
    drivers = (PartKind.DRIVER, PartKind.SECURITY_DRIVER)
    plug = "+".join(p.size for p in parts if p.kind not in (*drivers, PartKind.SPRING))
    driver = " ".join(p.size for p in parts if p.kind in drivers)
    return f"{plug} · {driver}" if parts else "none"


def _pieces(order: TripOrder, key: str) -> int:
    return order.job.chart.keys[order.job.chart.key_index()[key]].copies or 1


def _names(names: tuple[str, ...]) -> str:
    shown = ", ".join(names[:LISTED])
    return shown if len(names) <= LISTED else f"{shown} and {len(names) - LISTED:,} more"
