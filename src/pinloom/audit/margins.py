"""The map of keys and doors: who opens, who is kept out and by how much.

A map is for eyes, so it holds no more than ``MOST`` keys and doors; where there are more, those of
the faults and of the weakest refusals are taken.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from enum import Enum

import numpy as np

from pinloom.audit.boxes import Boxes, boxes_of
from pinloom.audit.neighbours import Pairs, all_pairs
from pinloom.audit.records import Audit
from pinloom.core.chart import AccessChart
from pinloom.core.job import Job

MOST = 40


class CellKind(Enum):
    """What a cell of the map says."""

    OPENS = "opens, as it shall"
    WRONG = "opens and shall not, or shall and does not"
    WEAK = "kept out by one chamber and one least step"
    REFUSED = "kept out"
    NO_ENTRY = "does not enter the keyway"


@dataclass(frozen=True, slots=True, kw_only=True)
class Cell:
    """One key at one door. ``chambers`` = how many keep it out; 0 where that is not the point."""

    kind: CellKind
    chambers: int = 0
    steps: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class MarginMap:
    """``cells[d][k]`` for the named doors and keys. ``left_out`` = some did not fit."""

    doors: tuple[str, ...]
    keys: tuple[str, ...]
    cells: tuple[tuple[Cell, ...], ...]
    left_out: bool


def margin_map(job: Job, audit: Audit) -> MarginMap:
    """The map of a job, or of its most telling part."""
    chart = job.chart
    named = [(one.door, one.key) for one in audit.neighbours.weakest]
    wrong = [(door, key) for key, door in audit.faults]
    doors = _chosen([door.name for door in chart.doors], [door for door, _ in wrong + named])
    keys = _chosen([key.name for key in chart.keys], [key for _, key in wrong + named])
    boxes = _rows(boxes_of(job), doors)
    part = _part(job, doors, keys)
    faults = set(audit.faults)
    cells: list[tuple[Cell, ...]] = []
    for pairs in all_pairs(part, boxes, [job.bittings[key] for key in keys]):
        for row, door in enumerate(pairs.doors):
            least = int(boxes.least[door])
            cells.append(
                tuple(_cell(part, pairs, faults, least, row, column) for column in range(len(keys)))
            )
    return MarginMap(
        doors=tuple(door.name for door in part.doors),
        keys=tuple(key.name for key in part.keys),
        cells=tuple(cells),
        left_out=len(doors) < len(chart.doors) or len(keys) < len(chart.keys),
    )


def _chosen(names: Sequence[str], telling: Sequence[str]) -> list[int]:
    """Indices of at most ``MOST`` names, telling ones first, in the order of the chart."""
    if len(names) <= MOST:
        return list(range(len(names)))
    index = {name: i for i, name in enumerate(names)}
    order = [index[name] for name in telling if name in index]
    return sorted(list(dict.fromkeys([*order, *range(len(names))]))[:MOST])


def _part(job: Job, doors: Sequence[int], keys: Sequence[int]) -> AccessChart:
    """The chart of some doors and keys."""
    chart = job.chart
    number = {key: i for i, key in enumerate(keys)}
    return replace(
        chart,
        doors=tuple(chart.doors[door] for door in doors),
        keys=tuple(chart.keys[key] for key in keys),
        openers=tuple(
            tuple(number[key] for key in chart.openers[door] if key in number) for door in doors
        ),
    )


def _rows(boxes: Boxes, doors: Sequence[int]) -> Boxes:
    chosen = np.array(doors, dtype=np.intp)
    return Boxes(
        steps=boxes.steps[chosen],
        least=boxes.least[chosen],
        blind=boxes.blind[chosen],
        readable=boxes.readable[chosen],
    )


def _cell(
    part: AccessChart,
    pairs: Pairs,
    faults: set[tuple[str, str]],
    least: int,
    row: int,
    column: int,
) -> Cell:
    """One cell; ``row`` counts from the first door of the pairs."""
    door = pairs.doors[row]
    if (part.keys[column].name, part.doors[door].name) in faults:
        return Cell(kind=CellKind.WRONG)
    if column in part.openers[door] and pairs.opens[row, column]:
        return Cell(kind=CellKind.OPENS)
    if not pairs.refused[row, column]:
        return Cell(kind=CellKind.NO_ENTRY)
    chambers, steps = int(pairs.chambers[row, column]), int(pairs.steps[row, column])
    weak = (chambers, steps) == (1, least)
    return Cell(kind=CellKind.WEAK if weak else CellKind.REFUSED, chambers=chambers, steps=steps)
