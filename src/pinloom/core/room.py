"""Room for further change keys: asked for before a design, and kept in the finished job.

A *wish* is a number of further change keys under one master, or a percentage of those that are
there. What is *kept* are combinations of cuts of their own, each for a key with a further door: a
key desk hands them out later with nothing else touched.
"""

import re
from dataclasses import dataclass

from pinloom.core.bitting import Bitting

MOST_FURTHER = 100_000  # further keys of one master; more is a slip of the finger
MOST_PERCENT = 1_000
_WISH = re.compile(r"([0-9]{1,6})\s*(%?)")


@dataclass(frozen=True, slots=True, kw_only=True)
class RoomWish:
    """``number`` further change keys, or so many percent of the change keys there are."""

    number: int
    percent: bool = False

    def of(self, keys: int) -> int:
        """How many that is beside ``keys`` change keys, rounded up."""
        return -(-self.number * keys // 100) if self.percent else self.number

    def __str__(self) -> str:
        return f"{self.number}%" if self.percent else str(self.number)


@dataclass(frozen=True, slots=True, kw_only=True)
class KeptRoom:
    """Combinations kept for further change keys under one master, in the order in which they are
    to be used. ``asked`` = how many the design was asked for.
    """

    under: str
    asked: int
    cuts: tuple[Bitting, ...]


#: 30 to 50 % spare a group is common practice, no source
USUAL = RoomWish(number=30, percent=True)


def read_wish(text: str) -> RoomWish | None:
    """A wish as written, ``30`` or ``30%``; None for anything else."""
    found = _WISH.fullmatch(text.strip())
    if found is None:
        return None
    wish = RoomWish(number=int(found[1]), percent=bool(found[2]))
    return wish if wish.number <= (MOST_PERCENT if wish.percent else MOST_FURTHER) else None
