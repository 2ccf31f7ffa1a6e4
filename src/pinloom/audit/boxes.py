"""The box of a cylinder: position by position, how far each cut of a key is from its stacks.

Theory. A bitting operates a cylinder when every cut does, one by one; so what operates it is a
product of sets of levels, a *box*. The audit counts in boxes of the *key's* positions: cuts that
meet no chamber, or one without pins, are free. Positions of another format are matched by distance
from the stop (``core.fitting`` says when formats match at all).

Distances are in whole steps of the pins' numbers; the proof, which does not share this code, works
from lengths. A chamber that no cut meets opens nothing exactly and keeps nothing out.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pinloom.core.fitting import same_family
from pinloom.core.hardware import HardwareFormat
from pinloom.core.job import Job
from pinloom.core.stacks import PinnedCylinder, PinStack

Flags = NDArray[np.bool_]
NEVER = 200  # steps of a cut that opens nothing whatever the tolerance


@dataclass(frozen=True, slots=True, kw_only=True)
class Boxes:
    """Distances of every level at every position of the key, for every door.

    ``steps[d, p, l]`` = steps from level ``l`` at position ``p`` to door ``d``'s nearest joint;
    ``least[d]`` = the cylinder's least step; ``blind[d]`` = a pinned chamber meets no cut, so
    nothing opens exactly; ``readable[d]`` = the pins are those of the cylinder's format.
    """

    steps: NDArray[np.uint8]
    least: NDArray[np.uint8]
    blind: Flags
    readable: Flags

    def exact(self) -> Flags:
        """(doors, positions, levels): distance 0."""
        flags: Flags = self.steps == 0
        flags[self.blind] = False
        return flags

    def tolerant(self) -> Flags:
        """(doors, positions, levels): nearer than the least step."""
        flags: Flags = self.steps < self.least[:, None, None]
        return flags


def boxes_of(job: Job) -> Boxes:
    """The boxes of all cylinders of a job."""
    key = job.key_format
    doors = len(job.chart.doors)
    steps = np.zeros((doors, key.chambers, key.levels), dtype=np.uint8)
    least = np.ones(doors, dtype=np.uint8)
    blind = np.zeros(doors, dtype=np.bool_)
    readable = np.ones(doors, dtype=np.bool_)
    rows: dict[PinStack, NDArray[np.uint8]] = {}
    fits: dict[str, tuple[HardwareFormat, list[int | None] | None]] = {}
    for door, cylinder in enumerate(job.pinning):
        name = job.chart.doors[door].hardware
        if name not in fits:
            made = job.format_of(door)
            fits[name] = (made, _cuts(key, made))
        made, cuts = fits[name]
        least[door] = made.least_step
        if cuts is None or not _is_readable(cylinder, made):
            readable[door] = False
            steps[door] = NEVER
            continue
        for stack, cut in zip(cylinder.chambers, cuts, strict=True):
            if stack is None:
                continue
            if cut is None:
                blind[door] = True
                continue
            if stack not in rows:
                rows[stack] = _row(stack, key.levels)
            steps[door, cut] = rows[stack]
    return Boxes(steps=steps, least=least, blind=blind, readable=readable)


def joints(stack: PinStack) -> tuple[int, ...]:
    """The levels that bring a joint of a stack to the operating line, build-up pin included."""
    cuts = stack.cuts()
    return cuts if stack.buildup is None else (*cuts, cuts[-1] + stack.buildup)


def _cuts(key: HardwareFormat, made: HardwareFormat) -> list[int | None] | None:
    """Per chamber, the index of the key's cut that meets it; None when the formats do not match."""
    if not same_family(key, made):
        return None
    at = {distance: cut for cut, distance in enumerate(key.positions())}
    return [at.get(distance) for distance in made.positions()]


def _is_readable(cylinder: PinnedCylinder, made: HardwareFormat) -> bool:
    return len(cylinder.chambers) == made.chambers and all(
        stack is None or 0 <= stack.bottom < made.levels for stack in cylinder.chambers
    )


def _row(stack: PinStack, levels: int) -> NDArray[np.uint8]:
    ways = [min(abs(level - joint) for joint in joints(stack)) for level in range(levels)]
    return np.array(ways, dtype=np.uint8)


def distinct(steps: NDArray[np.uint8], position: int) -> tuple[NDArray[np.uint8], NDArray[np.intp]]:
    """The distinct rows of one position, and for each door the number of its row."""
    rows, numbers = np.unique(steps[:, position, :], axis=0, return_inverse=True)
    return rows, numbers.reshape(-1).astype(np.intp)
