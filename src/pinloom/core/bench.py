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
