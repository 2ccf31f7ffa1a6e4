"""The order in which to set up cylinders, so that the bench handles few different pins in a row.

Rules. Identical cylinders come together. Between two different ones the effort is the number of pin
sizes that one takes and the other does not: trays opened and put away. Springs do not count.

Theory of operation. A shortest path through the kinds of cylinder, by nearest neighbour from the
first in the chart and then by turning round stretches of the path while that shortens it (2-opt,
a counted number of passes). Up to ``EXACT`` kinds the best path is found outright (Held and Karp,
1962). Above ``NEIGHBOURS`` kinds the order is by sizes alone, which keeps likes together.
Distances are counted on packed bits. Ties go to the chart's order, so the order repeats.
"""

from collections import Counter
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from pinloom.core.bench import Part, PartKind, Tray
from pinloom.core.chart import AccessChart
from pinloom.core.hardware import HardwareFormat
from pinloom.core.stacks import PinnedCylinder
from pinloom.pinning.parts import count_cylinder, in_bench_order, part_order

TRAY = 12  # cylinders a tray, unless the shop says otherwise
EXACT = 10
TURNED = 400
NEIGHBOURS = 3_000
PASSES = 20

Distances = NDArray[np.int16]


def assembly_order(
    cylinder_formats: Sequence[HardwareFormat], cylinders: Sequence[PinnedCylinder]
) -> tuple[int, ...]:
    """Indices of the doors in the order in which to set them up."""
    kinds: dict[tuple[object, ...], list[int]] = {}
    for door, (made, cylinder) in enumerate(zip(cylinder_formats, cylinders, strict=True)):
        kinds.setdefault((made.name, cylinder.chambers), []).append(door)
    groups = list(kinds.values())
    sizes = [_sizes(cylinder_formats[g[0]], cylinders[g[0]]) for g in groups]
    return tuple(door for kind in _path(sizes) for door in groups[kind])


def trays(
    chart: AccessChart,
    cylinder_formats: Sequence[HardwareFormat],
    cylinders: Sequence[PinnedCylinder],
    *,
    size: int = TRAY,
) -> tuple[Tray, ...]:
    """The whole job in trays of ``size`` cylinders, in assembly order, each with its parts."""
    pieces = [
        door
        for door in assembly_order(cylinder_formats, cylinders)
        for _ in range(chart.doors[door].count)
    ]
    made: list[Tray] = []
    before: frozenset[Part] = frozenset()
    for start in range(0, len(pieces), size):
        doors = pieces[start : start + size]
        picked = 0
        total: Counter[Part] = Counter()
        for door in doors:
            total += count_cylinder(cylinder_formats[door], cylinders[door])
            now = _sizes(cylinder_formats[door], cylinders[door])
            picked += len(now - before)
            before = now
        made.append(
            Tray(
                doors=tuple(chart.doors[d].name for d in doors),
                parts=in_bench_order(total.items()),
                picked=picked,
            )
        )
    return tuple(made)


def handled(
    cylinder_formats: Sequence[HardwareFormat],
    cylinders: Sequence[PinnedCylinder],
    order: Sequence[int],
) -> int:
    """Sizes taken up or put away over a whole order: what the order keeps low."""
    sizes = [_sizes(cylinder_formats[d], cylinders[d]) for d in order]
    return sum(len(a ^ b) for a, b in zip(sizes, sizes[1:], strict=False))


def _sizes(made: HardwareFormat, cylinder: PinnedCylinder) -> frozenset[Part]:
    parts = count_cylinder(made, cylinder)
    return frozenset(part for part in parts if part.kind is not PartKind.SPRING)


def _path(sizes: Sequence[frozenset[Part]]) -> list[int]:
    if len(sizes) > NEIGHBOURS:
        return sorted(range(len(sizes)), key=lambda k: sorted(map(part_order, sizes[k])))
    if len(sizes) < 2:
        return list(range(len(sizes)))
    distances = _distances(sizes)
    if len(sizes) <= EXACT:
        return _best_path(distances)
    path = _nearest_path(distances)
    return _turned(path, distances) if len(sizes) <= TURNED else path


def _distances(sizes: Sequence[frozenset[Part]]) -> Distances:
    """Sizes that one of two kinds takes and the other does not, for all pairs."""
    known = {
        part: i for i, part in enumerate(sorted({p for s in sizes for p in s}, key=part_order))
    }
    flags = np.zeros((len(sizes), len(known)), dtype=np.float32)
    for kind, parts in enumerate(sizes):
        flags[kind, [known[part] for part in parts]] = 1
    total = flags.sum(axis=1)
    apart: Distances = (total[:, None] + total[None, :] - 2 * (flags @ flags.T)).astype(np.int16)
    return apart


def _nearest_path(distances: Distances) -> list[int]:
    path = [0]
    left = np.ones(len(distances), dtype=np.bool_)
    left[0] = False
    for _ in range(len(distances) - 1):
        row = np.where(left, distances[path[-1]], np.iinfo(np.int16).max)
        path.append(int(row.argmin()))
        left[path[-1]] = False
    return path


def _turned(path: list[int], distances: Distances) -> list[int]:
    """Turn stretches round while the path gets shorter."""
    way = np.array(path)
    for _ in range(PASSES):
        better = False
        for start in range(1, len(way)):
            # Turning way[start..end] replaces the steps into start and out of end.
            before, first = way[start - 1], way[start]
            lasts = way[start + 1 :]
            gain = distances[before, first] - distances[before, lasts].astype(np.int32)
            gain[:-1] += (
                distances[lasts[:-1], way[start + 2 :]] - distances[first, way[start + 2 :]]
            )
            if len(gain) and gain.max() > 0:
                end = start + 1 + int(gain.argmax())
                way[start : end + 1] = way[start : end + 1][::-1].copy()
                better = True
        if not better:
            break
    return [int(kind) for kind in way]


def _best_path(distances: Distances) -> list[int]:
    """The shortest path through all kinds: best way to end at each kind, over sets of kinds."""
    count = len(distances)
    best: dict[tuple[int, int], tuple[int, int]] = {
        (1 << kind, kind): (0, -1) for kind in range(count)
    }
    for visited in range(1, 1 << count):
        for last in range(count):
            here = best.get((visited, last))
            if here is None:
                continue
            for kind in range(count):
                if visited >> kind & 1:
                    continue
                case = (visited | 1 << kind, kind)
                length = here[0] + int(distances[last, kind])
                if case not in best or length < best[case][0]:
                    best[case] = (length, last)
    visited = (1 << count) - 1
    last = min(range(count), key=lambda kind: best[visited, kind][0])
    path = []
    while last >= 0:
        path.append(last)
        visited, last = visited & ~(1 << last), best[visited, last][1]
    return path[::-1]
