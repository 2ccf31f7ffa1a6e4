"""True-scale outlines of keys, on which a cut key is laid to compare.

Rules. Drawn 1:1. Every page carries two bars, 50 mm and 2 in, to measure with a rule first, since
printers scale. The cut edge is solid, everything the format has no number for is broken. Centres of
the cuts are marked below the blade, numbered in reading order.
"""

from collections.abc import Iterator, Sequence

from pinloom.core.bitting import Bitting
from pinloom.core.hardware import HardwareFormat, Stop
from pinloom.core.lengths import in_inch, in_mm
from pinloom.sheets.keyline import KeyShape, key_shape
from pinloom.sheets.scene import Anchor, Dash, Label, Path, Scene, Shape, moved, number

WIDTH = 180.0
COLUMNS = 2
EACH = 24.0  # millimetres of height a key
ROWS = 8
TOP = 16.0
ZERO = 14.0  # from the left of a key's place to its stop, or to the end of its blade


def profile_scenes(made: HardwareFormat, keys: Sequence[tuple[str, Bitting]]) -> Iterator[Scene]:
    """Pages of outlines, each with the bars that check the printer."""
    most = COLUMNS * ROWS
    for start in range(0, len(keys), most):
        part = keys[start : start + most]
        shapes: list[Shape] = list(_bars())
        for place, (name, levels) in enumerate(part):
            column, row = place % COLUMNS, place // COLUMNS
            shapes += moved(_one(made, name, levels), column * WIDTH / COLUMNS, TOP + row * EACH)
        shape = key_shape(made, part[0][1])
        yield Scene(
            title=f"Key profiles at true scale, page {start // most + 1}",
            told="Outlines of keys " + ", ".join(name for name, _ in part) + ", drawn 1:1.",
            width=WIDTH,
            height=TOP + EACH * -(-len(part) // COLUMNS),
            shapes=tuple(shapes),
            schematic=(*shape.schematic, "shape of the bow"),
        )


def _bars() -> Iterator[Shape]:
    for left, length, text in ((2.0, 50.0, "50 mm"), (70.0, 50.8, "2 in")):
        yield Path(
            role="scale-bar",
            points=(
                (left, 6),
                (left, 3),
                (left, 4.5),
                (left + length, 4.5),
                (left + length, 3),
                (left + length, 6),
            ),
            width=0.25,
            facts=(("length", number(length)),),
        )
        yield Label(role="scale", at=(left + length / 2, 9.5), text=text, size=3)
    yield Label(
        role="scale",
        at=(126, 5.6),
        text="Measure both bars first: printers scale.",
        size=2.5,
        anchor=Anchor.START,
    )


def _one(made: HardwareFormat, name: str, levels: Bitting) -> Iterator[Shape]:
    key = key_shape(made, levels)
    base = 15.0
    zero = ZERO - min(0.0, key.shoulder)

    def at(x: float, height: float) -> tuple[float, float]:
        return zero + x, base - height

    yield Path(
        role="key",
        points=tuple(at(x, h) for x, h in key.edge),
        width=0.2,
        facts=(
            ("key", name),
            ("edge", " ".join(f"{number(x)},{number(h)}" for x, h in key.edge)),
        ),
    )
    yield from _schematic(key, at(0, 0), at(key.shoulder, 0)[0], at(key.tip, 0)[0])
    for place, (x, level) in enumerate(zip(key.centres, levels, strict=True), start=1):
        yield Path(role="centre", points=(at(x, -0.4), at(x, -1.6)), width=0.15)
        yield Label(role="cut", at=at(x, -4.0), text=made.depths[level].stamped, size=2.2)
        yield Label(role="place", at=at(x, -6.2), text=f"({place})", size=1.6)
    yield Label(
        role="name", at=(1.0, base - 10.5), text=name, size=3, anchor=Anchor.START, bold=True
    )


def _schematic(
    key: KeyShape, origin: tuple[float, float], left: float, right: float
) -> Iterator[Shape]:
    base = origin[1]
    first, last = key.edge[0][1], key.edge[-1][1]
    yield Path(
        role="blade",
        points=((left, base), (right, base), (right, base - last)),
        width=0.2,
        dash=Dash.DASHED,
    )
    out = left - 8
    yield Path(
        role="bow",
        points=(
            (left, base - first),
            (left, base - first - 1.5),
            (out, base - first - 1.5),
            (out, base + 1.5),
            (left, base + 1.5),
            (left, base),
        ),
        width=0.2,
        dash=Dash.DASHED,
    )


def positions_rows(made: HardwareFormat) -> tuple[tuple[str, ...], ...]:
    """Position, and the distance of its centre from the stop in inch and millimetre."""
    return tuple(
        (str(number), in_inch(place), in_mm(place))
        for number, place in enumerate(made.positions(), start=1)
    )


def roots_rows(made: HardwareFormat) -> tuple[tuple[str, ...], ...]:
    """Depth as stamped, its number, and its root in inch and millimetre."""
    return tuple(
        (depth.stamped, str(depth.number), in_inch(depth.root), in_mm(depth.root))
        for depth in made.depths
    )


def stop_words(made: HardwareFormat) -> str:
    """From where distances are counted, and in which order cuts are read."""
    stop = "shoulder" if made.stop is Stop.SHOULDER else "tip"
    return f"Distances from the {stop}; cuts read from {made.reading.value}."
