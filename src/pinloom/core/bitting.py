"""Cuts of a key.

Inside the program a cut is a *level*: whole steps deeper than the shallowest cut of the format, so
level 0 is the shallowest whatever number the trade stamps for it. Depth numbers and stamped texts
exist only at the edges (``HardwareFormat.number_of``, ``level_of``, ``read_cuts``, ``stamp``).
Position 0 is the first in the format's reading order.
"""

from collections.abc import Sequence
from itertools import pairwise

Level = int
Bitting = tuple[Level, ...]
PartialBitting = tuple[Level | None, ...]  # None = free


def keeps_macs(levels: Sequence[Level], macs: int) -> bool:
    """Whether no two neighbouring cuts are more than ``macs`` steps apart (common trade rule)."""
    return all(abs(a - b) <= macs for a, b in pairwise(levels))
