"""What a page is made of. A sheet is a list of blocks; the same blocks become PDF and workbooks."""

from dataclasses import dataclass
from enum import Enum

from pinloom.sheets.scene import Scene


class Paper(Enum):
    """Paper sizes, by the typesetter's own names."""

    A4 = "a4"
    LETTER = "us-letter"


class Set(Enum):
    """Who gets a sheet. The owner's set holds no cut; the bench's set is nobody else's."""

    OWNER = "owner"
    BENCH = "bench"


@dataclass(frozen=True, slots=True, kw_only=True)
class Ticks:
    """Empty boxes to tick, in a cell."""

    count: int = 1


Cell = str | Ticks


@dataclass(frozen=True, slots=True, kw_only=True)
class Heading:
    """A heading inside a sheet."""

    text: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Text:
    """A paragraph."""

    text: str
    strong: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Points:
    """A list of paragraphs."""

    texts: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Facts:
    """Names with values beside them."""

    pairs: tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Table:
    """``widths`` as the typesetter has them: ``auto``, ``1fr``, ``12mm``. ``centred`` = heads of
    columns set to the middle. ``name`` is that of the worksheet; '' = paper only. ``joined`` =
    heads of neighbouring columns that stand in one column on paper, under ``joined_head``, their
    texts put together with ``joint``: fewer cells, and a line that is read in one go.
    """

    heads: tuple[str, ...]
    rows: tuple[tuple[Cell, ...], ...]
    widths: tuple[str, ...]
    centred: frozenset[str] = frozenset()
    name: str = ""
    joined: tuple[str, ...] = ()
    joined_head: str = ""
    joint: str = " "

    def on_paper(self) -> "Table":
        """The table with its joined columns put together."""
        if not self.joined:
            return self
        start = self.heads.index(self.joined[0])
        end = start + len(self.joined)
        return Table(
            heads=(*self.heads[:start], self.joined_head, *self.heads[end:]),
            rows=tuple((*row[:start], self._join(row[start:end]), *row[end:]) for row in self.rows),
            widths=(*self.widths[:start], self.widths[start], *self.widths[end:]),
            centred=self.centred,
            name=self.name,
        )

    def _join(self, cells: tuple[Cell, ...]) -> str:
        return self.joint.join(cell for cell in cells if isinstance(cell, str) and cell)


@dataclass(frozen=True, slots=True, kw_only=True)
class Card:
    """One unbroken block with a title, a line below it, and a small table."""

    title: str
    under: str
    table: Table


@dataclass(frozen=True, slots=True, kw_only=True)
class Cards:
    """Cards side by side."""

    cards: tuple[Card, ...]
    columns: int = 2


@dataclass(frozen=True, slots=True, kw_only=True)
class Tag:
    """A label to cut out: a square code that holds ``code``, and a line or two of text."""

    code: str
    title: str
    under: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Tags:
    """Labels side by side."""

    tags: tuple[Tag, ...]
    columns: int = 4


@dataclass(frozen=True, slots=True, kw_only=True)
class Drawing:
    """A scene at true scale, or ``share`` of the width of the page."""

    scene: Scene
    caption: str = ""
    share: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Signatures:
    """Lines to sign on."""

    lines: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class PageBreak:
    """What follows starts on a page of its own."""


Block = Heading | Text | Points | Facts | Table | Cards | Tags | Drawing | Signatures | PageBreak


@dataclass(frozen=True, slots=True, kw_only=True)
class Sheet:
    """One sheet; ``name`` is what the command calls it."""

    name: str
    title: str
    set: Set
    blocks: tuple[Block, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Face:
    """What every page of a set says on its face."""

    job: str
    revision: int
    fingerprint: str
    approved_by: str | None
