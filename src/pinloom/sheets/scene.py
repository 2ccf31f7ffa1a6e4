"""A drawing as plain shapes in millimetres, built once and replayed into every output.

Rules. x grows to the right and y downwards, as on paper. Meaning is carried by line patterns, fill
patterns and numbers, never by colour, so that a copy in black and white says the same. A shape has
a ``role`` (what it is, in words) and ``facts`` (its figures, in millimetres and steps), so that a
test, a page or a person with a reader of pages can ask what is drawn without measuring pictures.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from enum import Enum

Point = tuple[float, float]
Facts = tuple[tuple[str, str], ...]

PLACES = 5  # decimals of a millimetre that are kept: 0.0001 in is 0.00254 mm


class Dash(Enum):
    """Patterns of a line."""

    SOLID = "solid"
    DASHED = "dashed"  # schematic: the size is not known
    DOTTED = "dotted"
    CHAIN = "chain"  # shear lines and centre lines


class Fill(Enum):
    """What is inside a closed path."""

    NONE = "none"
    PAPER = "paper"
    INK = "ink"
    SHADE = "shade"  # the metal of the plug and the shell
    RISING = "rising"
    FALLING = "falling"
    CROSS = "cross"
    DOTS = "dots"


class Anchor(Enum):
    """Which end of a text lies at its point."""

    START = "start"
    MIDDLE = "middle"
    END = "end"


@dataclass(frozen=True, slots=True, kw_only=True)
class Path:
    """A chain of straight lines; ``width`` in millimetres."""

    role: str
    points: tuple[Point, ...]
    closed: bool = False
    width: float = 0.15
    dash: Dash = Dash.SOLID
    fill: Fill = Fill.NONE
    facts: Facts = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Label:
    """A line of text; ``size`` in millimetres, ``at`` on its base line."""

    role: str
    at: Point
    text: str
    size: float = 2.4
    anchor: Anchor = Anchor.MIDDLE
    bold: bool = False
    facts: Facts = ()


Shape = Path | Label


@dataclass(frozen=True, slots=True, kw_only=True)
class Scene:
    """A drawing of ``width`` by ``height`` millimetres. ``told`` says in words what it shows;
    ``schematic`` lists what is not in true proportion because the format has no number for it.
    """

    title: str
    told: str
    width: float
    height: float
    shapes: tuple[Shape, ...]
    schematic: tuple[str, ...] = ()

    def with_role(self, role: str) -> tuple[Shape, ...]:
        """The shapes of one role, in the order of drawing."""
        return tuple(shape for shape in self.shapes if shape.role == role)


def box(left: float, top: float, right: float, bottom: float) -> tuple[Point, ...]:
    """The corners of a rectangle."""
    return ((left, top), (right, top), (right, bottom), (left, bottom))


def moved(shapes: Iterable[Shape], right: float, down: float) -> tuple[Shape, ...]:
    """Shapes shifted over the paper."""
    return tuple(_moved(shape, right, down) for shape in shapes)


def _moved(shape: Shape, right: float, down: float) -> Shape:
    if isinstance(shape, Label):
        return Label(
            role=shape.role,
            at=(shape.at[0] + right, shape.at[1] + down),
            text=shape.text,
            size=shape.size,
            anchor=shape.anchor,
            bold=shape.bold,
            facts=shape.facts,
        )
    return Path(
        role=shape.role,
        points=tuple((x + right, y + down) for x, y in shape.points),
        closed=shape.closed,
        width=shape.width,
        dash=shape.dash,
        fill=shape.fill,
        facts=shape.facts,
    )


def number(value: float) -> str:
    """A coordinate as text: fixed places, no trailing zeros, no minus zero."""
    text = f"{value:.{PLACES}f}".rstrip("0").rstrip(".")
    return "0" if text in ("-0", "") else text
