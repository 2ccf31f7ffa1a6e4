"""Advice on a top master, and the depths that stand beside it in a progression.

Advice of one technical manual (*Peaks Preferred* manual, p. 4-9), not law: other published arrays
do not follow it, so every finding here is a note. A top master should hold a shallowest and a
deepest cut, not be shallow or deep throughout, and not decline steadily.
"""

from collections.abc import Sequence
from itertools import pairwise

from pinloom.core.bitting import Bitting, Level
from pinloom.core.findings import Finding, note
from pinloom.core.hardware import HardwareFormat

THIRD = 3  # uniform: all cuts in the shallow or in the deep third of the depths


def top_master_advice(
    made: HardwareFormat, key: str, levels: Bitting, progressed: Sequence[int] | None = None
) -> tuple[Finding, ...]:
    """Notes on a top master. ``progressed`` = positions (from 0) in which change keys differ from
    it; None = all of them.
    """
    cuts = [levels[p] for p in (range(len(levels)) if progressed is None else progressed)]
    deepest, band = made.levels - 1, (made.levels - 1) // THIRD
    found: list[Finding] = []
    if cuts and 0 not in cuts:
        found.append(note("pinning-master-no-shallow", key=key, depth=made.depths[0].stamped))
    if cuts and deepest not in levels:
        found.append(note("pinning-master-no-deep", key=key, depth=made.depths[-1].stamped))
    if max(levels) <= band or min(levels) >= deepest - band:
        found.append(note("pinning-master-uniform", key=key))
    if len(levels) > 1 and all(a >= b for a, b in pairwise(levels)) and levels[0] > levels[-1]:
        found.append(note("pinning-master-declining", key=key))
    return tuple(found)


def progressives(made: HardwareFormat, master: Bitting) -> tuple[tuple[Level, ...], ...]:
    """Per position, the levels a change key may have beside the master's (``beside``)."""
    return tuple(made.beside(cut) for cut in master)
