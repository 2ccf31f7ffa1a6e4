"""What a bench handles: pins and springs by size, and how many of each."""

from dataclasses import dataclass
from enum import Enum

from pinloom.core.lengths import Nanometres, in_inch, in_mm


class PartKind(Enum):
    """What a part is; in the order in which a chamber is filled."""

    BOTTOM = "bottom"
    MASTER = "master"
    BUILDUP = "build-up"
    DRIVER = "driver"  # also the top pin of a core
    SECURITY_DRIVER = "security driver"
    SPRING = "spring"


@dataclass(frozen=True, slots=True, kw_only=True)
class Part:
    """One kind of pin in one size. ``size`` is what the format calls it: the depth number of a
    bottom pin, the steps of a master or build-up pin, the label of a driver. ``length`` is None
    where the format gives none.
    """

    kind: PartKind
    size: str = ""
    length: Nanometres | None = None

    def inch(self) -> str:
        """The length in inch, or nothing where it is not known."""
        return "" if self.length is None else in_inch(self.length)

    def mm(self) -> str:
        """The length in millimetres, or nothing where it is not known."""
        return "" if self.length is None else in_mm(self.length)


@dataclass(frozen=True, slots=True, kw_only=True)
class PartCount:
    """How many of one part."""

    part: Part
    count: int


@dataclass(frozen=True, slots=True, kw_only=True)
class CutPlace:
    """One cut of a key: the distance of its centre from the stop, and what is left under it."""

    position: int  # of the cut, counted from 1 in reading order
    stamped: str
    distance: Nanometres
    root: Nanometres


@dataclass(frozen=True, slots=True, kw_only=True)
class KeyCutting:
    """What the machine needs for one key, its ``cuts`` in the format's reading order.

    ``copies`` = how many to cut, None where the chart does not say. ``reach`` = distance from the
    stop to the centre of the farthest cut; ``blank_length`` = as the format gives it.
    ``cuts_needed`` = how many cuts a blank must hold for the doors of this key, with the stop at
    the bow; ``tight`` = positions (from 1) of cuts within one step of MACS from the next one.
    """

    key: str
    blank: str
    copies: int | None
    stamped: str
    cuts: tuple[CutPlace, ...]
    reach: Nanometres
    blank_length: Nanometres | None
    cuts_needed: int
    tight: tuple[int, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Tray:
    """Cylinders that are set up together, in order, with what to lay out for them. A cylinder of
    which there are several stands there as often; ``picked`` = how many sizes are new against the
    cylinder before, summed up.
    """

    doors: tuple[str, ...]
    parts: tuple[PartCount, ...]
    picked: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Repin:
    """What changes in one chamber (counted from 1) of one door: parts to take out and to put in."""

    door: str
    chamber: int
    out: tuple[Part, ...]
    into: tuple[Part, ...]
