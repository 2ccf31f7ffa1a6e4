"""The outline of a cut key, in millimetres, in true proportion wherever the format has numbers.

Theory. A cutter of included angle A with a flat of width F, sunk to a root R at distance P from the
stop, leaves the blade under ``R + max(0, |x - P| - F/2) / tan(A/2)``. The edge of the key is the
lowest of these over all cuts, and never above the blade. Being the lowest of straight lines, it
bends only where two of them meet, so the meeting points are all that is needed.

Coordinates. x runs from the bow to the tip with 0 at the stop (so everything is left of 0 on a key
that stops at its tip); height is counted up from the bottom of the blade.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations
from math import radians, tan

from pinloom.core.bitting import Level
from pinloom.core.hardware import HardwareFormat, Reading, Stop
from pinloom.core.lengths import NM_PER_MM, Nanometres
from pinloom.sheets.scene import Point

# Where a format has no number, drawings use these and say so (ours, drawing only).
SCHEMATIC_ANGLE = 90
SCHEMATIC_FLAT = 0.8
ABOVE_SHALLOWEST = 0.5  # blade above the shallowest root
TIP = 2.6  # blade beyond the farthest cut, or before the first one of a key that stops at the tip


def mm(length: Nanometres) -> float:
    """Millimetres of a length."""
    return length / NM_PER_MM


@dataclass(frozen=True, slots=True, kw_only=True)
class KeyShape:
    """``edge`` = bends of the upper edge from bow to tip; ``centres[i]`` = x of the cut that is
    read ``i``-th; ``blade`` = height of the uncut blade; ``schematic`` = what is not to scale.
    """

    edge: tuple[Point, ...]
    centres: tuple[float, ...]
    roots: tuple[float, ...]
    blade: float
    shoulder: float
    tip: float
    schematic: tuple[str, ...]


def centres(made: HardwareFormat) -> tuple[float, ...]:
    """x of every cut's centre in reading order."""
    way = 1 if made.stop is Stop.SHOULDER else -1
    return tuple(way * mm(place) for place in made.positions())


def key_shape(made: HardwareFormat, levels: Sequence[Level]) -> KeyShape:
    """The outline of a key with these cuts, in the format's reading order."""
    sizes = made.dimensions
    places = centres(made)
    roots = tuple(mm(made.depths[level].root) for level in levels)
    blade = _blade(made)
    angle = radians((sizes.cut_angle or SCHEMATIC_ANGLE) / 2)
    flat = SCHEMATIC_FLAT if sizes.cut_flat is None else mm(sizes.cut_flat)
    shoulder, tip = _ends(made, places)
    edge = _edge(tuple(zip(places, roots, strict=True)), flat, 1 / tan(angle), blade, shoulder, tip)
    return KeyShape(
        edge=edge,
        centres=places,
        roots=roots,
        blade=blade,
        shoulder=shoulder,
        tip=tip,
        schematic=schematic_parts(made),
    )


def bow_first(made: HardwareFormat) -> bool:
    """Whether the first cut in reading order is the one next to the bow."""
    return made.reading is Reading.BOW_TO_TIP


def schematic_parts(made: HardwareFormat) -> tuple[str, ...]:
    """What of a key the format has no number for."""
    sizes = made.dimensions
    lacking = (
        (sizes.blade_height, "height of the blade"),
        (sizes.blank_length, "length of the blade"),
        (sizes.cut_angle, "angle of the cuts"),
        (sizes.cut_flat, "flat of the cuts"),
    )
    return tuple(text for value, text in lacking if value is None)


def _blade(made: HardwareFormat) -> float:
    height = made.dimensions.blade_height
    if height is None:
        return mm(max(depth.root for depth in made.depths)) + ABOVE_SHALLOWEST
    return mm(height)


def _ends(made: HardwareFormat, places: Sequence[float]) -> tuple[float, float]:
    """x of the shoulder (or of the end of the uncut blade towards the bow) and of the tip."""
    length = made.dimensions.blank_length
    if made.stop is Stop.SHOULDER:
        return 0.0, max(places) + TIP if length is None else mm(length)
    return (min(places) - TIP if length is None else -mm(length)), 0.0


def _edge(
    cuts: Sequence[Point], flat: float, slope: float, blade: float, left: float, right: float
) -> tuple[Point, ...]:
    """The upper edge between two ends, in a chain of bends."""

    def height(x: float) -> float:
        return min(blade, *(r + max(0.0, abs(x - p) - flat / 2) * slope for p, r in cuts))

    # Every straight piece as (offset, gradient): the blade, the flats, both walls of each cut.
    lines = [(blade, 0.0)]
    for place, root in cuts:
        lines += [
            (root, 0.0),
            (root - (place + flat / 2) * slope, slope),
            (root + (place - flat / 2) * slope, -slope),
        ]
    bends = {left, right}
    for (a, m), (b, n) in combinations(lines, 2):
        if m != n:
            bends.add((b - a) / (m - n))
    for place, _ in cuts:
        bends |= {place - flat / 2, place + flat / 2}
    points = [(x, height(x)) for x in sorted(bends) if left <= x <= right]
    return _without_straight(points)


def _without_straight(points: Sequence[Point]) -> tuple[Point, ...]:
    """The same chain without points that lie on the line between their neighbours."""
    kept: list[Point] = []
    for point in points:
        if kept and abs(point[0] - kept[-1][0]) < 1e-9:
            continue
        while len(kept) > 1 and _straight(kept[-2], kept[-1], point):
            kept.pop()
        kept.append(point)
    return tuple(kept)


def _straight(one: Point, middle: Point, other: Point) -> bool:
    area = (middle[0] - one[0]) * (other[1] - one[1]) - (other[0] - one[0]) * (middle[1] - one[1])
    return abs(area) < 1e-9
