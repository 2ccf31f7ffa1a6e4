"""The section drawing: a cylinder cut lengthways, with a key in it or none.

In true proportion wherever the format has the numbers, enlarged as a whole; what it has no number
for is drawn with broken lines and listed under the drawing. It shows at a glance why a key turns,
or which chamber keeps it out: fill patterns tell kinds of pins apart, numbers their sizes, and the
rows below repeat the arithmetic.

Shapes carry their true heights above the operating shear line in millimetres (``data-foot``,
``data-top`` in SVG), so that a test can ask the drawing and not the pixels.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from pinloom.core.bench import PartKind
from pinloom.core.bitting import Level
from pinloom.core.hardware import HardwareFormat, Stop
from pinloom.core.stacks import PinnedCylinder
from pinloom.sheets.heights import Chamber, Standing, StandingPin, State, Verdict, stand
from pinloom.sheets.keyline import KeyShape, centres, key_shape, mm
from pinloom.sheets.scene import Anchor, Dash, Fill, Label, Path, Point, Scene, Shape, box, number
from pinloom.sheets.sectionrows import FILLS, NAMES, ROW, legend, row_texts, rows

SCALE = 3.0
MARGIN = 3.0
LONGEST = 3  # signs of a size that is written on its pin
ROWS_LEFT = 24.0  # room for the heads of the rows, and for the bow

# Where a format has no number (drawing only), in millimetres of the cylinder.
PIN_DIAMETER = 2.9
UNDER_BLADE = 0.7
SHELL_WALL = 1.4
SPRING_ROOM = 3.2
BOW = 7.0


def section_scene(
    format: HardwareFormat,  # noqa: A002 - the word of the page that joins the stages
    cylinder: PinnedCylinder,
    key_levels: Sequence[Level] | None = None,
    *,
    key_format: HardwareFormat | None = None,
    at_control: bool = False,
    key_name: str = "",
    scale: float = SCALE,
) -> Scene:
    """The cylinder with a key of these levels in it, or without one.

    ``key_format`` where the key is cut to another format of the family; ``at_control`` = the key is
    a core's control key, so the second shear line is the one that matters.
    """
    standing = stand(format, cylinder, key_levels, key_format=key_format, at_control=at_control)
    key = None if key_levels is None else key_shape(key_format or format, key_levels)
    frame = _frame(format, standing, key, scale)
    foot = frame.y(frame.bottom) + MARGIN
    shapes: list[Shape] = [
        *_metal(frame, standing),
        *(() if key is None else _key(frame, key, standing)),
        *(shape for chamber in standing.chambers for shape in _stack(frame, chamber)),
        *_lines(frame, standing),
        *rows(standing, key_format or format, [frame.x(place) for place in frame.centres], foot),
    ]
    below = foot + ROW * len(row_texts(standing, format)) + MARGIN
    shapes += legend(standing, below)
    title = f"{cylinder.door}: section" + (f" with key {key_name}" if key_name else "")
    return Scene(
        title=title,
        told=describe(standing, key_name),
        width=max(frame.x(frame.right) + MARGIN, ROWS_LEFT + 92),
        height=below + ROW,
        shapes=tuple(shapes),
        schematic=_schematic(format, standing, key),
    )


def describe(standing: Standing, key_name: str = "") -> str:
    """What the cylinder does to the key, in a sentence."""
    key = f"Key {key_name}" if key_name else "The key"
    line = "control line" if standing.line else "shear line"
    if standing.verdict is Verdict.NO_KEY:
        return "No key: drivers stand across the shear line."
    if standing.verdict is Verdict.TURNS:
        return f"{key} turns: a joint lies on the {line} in every chamber."
    if standing.verdict is Verdict.MAY_TURN:
        return (
            f"{key} counts as opening: it is nearer to the {line} than the least step in every "
            "chamber, and wear or clearance may let it turn."
        )
    if standing.verdict is Verdict.UNKNOWN:
        return f"{key}: not every chamber is met by a cut, so this drawing cannot tell."
    held = ", ".join(
        f"{chamber.number} ({chamber.steps} {'step' if chamber.steps == 1 else 'steps'})"
        for chamber in standing.holding()
    )
    word = "chamber" if len(standing.holding()) == 1 else "chambers"
    return f"{key} is held by {word} {held}: no joint near the {line}."


@dataclass(frozen=True, slots=True, kw_only=True)
class _Frame:
    """From millimetres of the cylinder (x from the stop, height above the line) to paper."""

    scale: float
    zero_x: float
    zero_y: float
    left: float  # face of the plug
    right: float
    top: float  # outside of the shell
    bottom: float
    plug_bottom: float
    ceiling: float  # end of the chambers
    centres: tuple[float, ...]
    pin: float
    known: frozenset[str]

    def x(self, way: float) -> float:
        return self.zero_x + way * self.scale

    def y(self, height: float) -> float:
        return self.zero_y - height * self.scale

    def dash(self, what: str) -> Dash:
        return Dash.SOLID if what in self.known else Dash.DASHED


def _frame(made: HardwareFormat, standing: Standing, key: KeyShape | None, scale: float) -> _Frame:
    sizes = made.dimensions
    places = centres(made)
    spacing = mm(made.spacing)
    shoulder = made.stop is Stop.SHOULDER
    left = 0.0 if shoulder else min(places) - 0.9 * spacing
    right = max(places) + 0.75 * spacing if shoulder else 0.9
    highest = max((mm(pin.top) for one in standing.chambers for pin in one.pins), default=0.0)
    ceiling = highest + SPRING_ROOM
    if sizes.chamber_depth is not None:
        ceiling = max(mm(sizes.chamber_depth), highest + 0.3)
    plug_bottom = mm(standing.root_zero) - UNDER_BLADE
    if sizes.plug_diameter is not None:
        plug_bottom = -mm(sizes.plug_diameter)
    known = {
        name
        for name, value in (
            ("pin", sizes.pin_diameter),
            ("plug", sizes.plug_diameter),
            ("chamber", sizes.chamber_depth),
        )
        if value is not None
    }
    top = ceiling + 0.8
    drawn = max(right, key.tip if key else right) + 0.5
    bow = BOW if shoulder else BOW + max(0.0, left - (key.shoulder if key else left))
    return _Frame(
        scale=scale,
        zero_x=max(ROWS_LEFT, bow * scale + MARGIN) - left * scale,
        zero_y=MARGIN + 6 + top * scale,
        left=left,
        right=drawn,
        top=top,
        bottom=plug_bottom - SHELL_WALL,
        plug_bottom=plug_bottom,
        ceiling=ceiling,
        centres=places,
        pin=PIN_DIAMETER if sizes.pin_diameter is None else mm(sizes.pin_diameter),
        known=frozenset(known),
    )


def _metal(frame: _Frame, standing: Standing) -> Iterator[Shape]:
    """Shell, plug, a core's sleeve, and the bores of the chambers."""
    back = frame.right
    yield Path(
        role="shell",
        points=_on(frame, box(frame.left, frame.top, back, frame.bottom)),
        closed=True,
        fill=Fill.SHADE,
        dash=Dash.DASHED,
    )
    yield Path(
        role="plug",
        points=_on(frame, box(frame.left, 0.0, back, frame.plug_bottom)),
        closed=True,
        fill=Fill.PAPER,
        dash=frame.dash("plug"),
    )
    if standing.control_line is not None:
        yield Path(
            role="sleeve",
            points=_on(frame, box(frame.left, mm(standing.control_line), back, 0.0)),
            closed=True,
            fill=Fill.DOTS,
        )
    for place, chamber in zip(frame.centres, standing.chambers, strict=True):
        half = frame.pin / 2 + 0.06
        yield Path(
            role="bore",
            points=_on(frame, box(place - half, frame.ceiling, place + half, _ledge(frame))),
            closed=True,
            fill=Fill.PAPER,
            width=0.1,
            dash=frame.dash("chamber"),
            facts=(("chamber", str(chamber.number)),),
        )


def _ledge(frame: _Frame) -> float:
    """How far down the bores are drawn: to the top of the keyway, which no format gives."""
    return frame.plug_bottom * 0.45


def _key(frame: _Frame, key: KeyShape, standing: Standing) -> Iterator[Shape]:
    zero = mm(standing.root_zero)
    bow = min(key.shoulder, frame.left)
    tip = key.tip
    edge = [(x, zero + height) for x, height in key.edge]
    points = [(bow, edge[0][1]), *edge, (tip, zero + 0.8), (tip - 1.2, zero), (bow, zero)]
    yield Path(
        role="key",
        points=_on(frame, points),
        closed=True,
        fill=Fill.PAPER,
        width=0.3,
        facts=(("edge", " ".join(f"{number(x)},{number(h)}" for x, h in key.edge)),),
    )
    out, high, low = bow - BOW + 1.5, zero + key.blade + 1.6, zero - 1.6
    yield Path(
        role="bow",
        points=_on(
            frame,
            [
                (bow, zero + key.blade),
                (bow, high),
                (out, high),
                (out + 0.5, zero + key.blade * 0.7),
                (out - 0.5, zero + key.blade * 0.3),
                (out, low),
                (bow, low),
                (bow, zero),
            ],
        ),
        width=0.2,
        dash=Dash.DASHED,
    )


def _stack(frame: _Frame, chamber: Chamber) -> Iterator[Shape]:
    place = frame.centres[chamber.number - 1]
    yield Label(
        role="chamber-number",
        at=(frame.x(place), frame.y(frame.top) - 1.5),
        text=str(chamber.number),
        size=3.2,
        bold=True,
    )
    for pin in chamber.pins:
        yield from _pin(frame, chamber, pin, place)
    if chamber.pins:
        top = mm(chamber.pins[-1].top)
        yield Path(
            role="spring",
            points=_on(frame, _spring(place, top, frame.ceiling, frame.pin * 0.38)),
            width=0.18,
            facts=(("chamber", str(chamber.number)),),
        )


def _pin(frame: _Frame, chamber: Chamber, pin: StandingPin, place: float) -> Iterator[Shape]:
    foot, top, half = mm(pin.foot), mm(pin.top), frame.pin / 2
    outline = list(box(place - half, top, place + half, foot))
    if pin.kind is PartKind.BOTTOM:
        # The point of a bottom pin: 45 degrees, drawing only.
        cone = min(half * 0.7, (top - foot) / 2)
        outline[2:] = [
            (place + half, foot + cone),
            (place + half - cone, foot),
            (place - half + cone, foot),
            (place - half, foot + cone),
        ]
    role = "pin " + NAMES[pin.kind].replace(" ", "-")
    yield Path(
        role=role,
        points=_on(frame, outline),
        closed=True,
        fill=FILLS[pin.kind],
        width=0.45 if chamber.state is State.HELD else 0.2,
        dash=Dash.SOLID if pin.known else Dash.DASHED,
        facts=(
            ("chamber", str(chamber.number)),
            ("size", pin.size),
            ("foot", number(foot)),
            ("top", number(top)),
        ),
    )
    if not 0 < len(pin.size) <= LONGEST:  # a name in words is for the legend
        return
    middle = frame.y((foot + top) / 2)
    tall = (top - foot) * frame.scale
    if pin.kind is PartKind.BOTTOM or tall > 4:
        text = 2.6
        yield Path(
            role="plate",
            points=box(frame.x(place) - 2.2, middle - 1.6, frame.x(place) + 2.2, middle + 1.6),
            closed=True,
            fill=Fill.PAPER,
            width=0.0,
        )
        at, anchor = (frame.x(place), middle + 0.9), Anchor.MIDDLE
    else:
        text = 2.1
        at, anchor = (frame.x(place + half) + 0.5, middle + 0.75), Anchor.START
    yield Label(role="size", at=at, text=pin.size, size=text, anchor=anchor)


def _spring(place: float, foot: float, ceiling: float, half: float) -> list[Point]:
    turns = 7
    points = [(place - half, foot)]
    for turn in range(1, turns + 1):
        side = half if turn % 2 else -half
        points.append((place + side, foot + (ceiling - foot) * turn / turns))
    return points


def _lines(frame: _Frame, standing: Standing) -> Iterator[Shape]:
    """The shear lines over everything, and a mark where a joint lies on the one that matters."""
    ways = [("shear-line", "shear line", 0.0)]
    if standing.control_line is not None:
        ways.append(("control-line", "control line", mm(standing.control_line)))
    for role, name, height in ways:
        left, right = frame.x(frame.left) - 4, frame.x(frame.right) + 1.5
        yield Path(
            role=role,
            points=((left, frame.y(height)), (right, frame.y(height))),
            width=0.35,
            dash=Dash.CHAIN,
            facts=(("height", number(height)),),
        )
        yield Label(
            role="line-name",
            at=(left - 0.6, frame.y(height) + 0.8),
            text=name,
            size=2.3,
            anchor=Anchor.END,
        )


def _schematic(made: HardwareFormat, standing: Standing, key: KeyShape | None) -> tuple[str, ...]:
    sizes = made.dimensions
    lacking = [
        text
        for value, text in (
            (sizes.pin_diameter, "diameter of the pins"),
            (sizes.plug_diameter, "diameter of the plug"),
            (sizes.shell_height, "height of the shell"),
            (sizes.chamber_depth, "depth of the chambers"),
        )
        if value is None
    ]
    if not standing.scaled:
        lacking.append("lengths of the bottom pins")
    if any(not pin.known for one in standing.chambers for pin in one.pins[-1:]):
        lacking.append("lengths of the drivers")
    if standing.verdict is Verdict.NO_KEY:
        lacking.append("how low the pins hang without a key")
    return (*lacking, *(() if key is None else key.schematic), "shape of the bow", "springs")


def _on(frame: _Frame, points: Sequence[Point]) -> tuple[Point, ...]:
    return tuple((frame.x(x), frame.y(height)) for x, height in points)
