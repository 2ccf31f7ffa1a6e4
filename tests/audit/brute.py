"""Plain enumeration: every bitting against every door, one chamber at a time."""

from collections import Counter
from collections.abc import Iterator
from itertools import pairwise, product

from pinloom.core.bitting import Bitting
from pinloom.core.job import Job
from tests.proof.simulator import distances


def cuttable(positions: int, levels: int, macs: int) -> Iterator[Bitting]:
    """Every bitting that keeps MACS."""
    for bitting in product(range(levels), repeat=positions):
        if all(abs(a - b) <= macs for a, b in pairwise(bitting)):
            yield bitting


def opened(job: Job, bitting: Bitting, tolerant: bool) -> list[int]:
    """Doors (all of the job's own format) that a bitting opens."""
    made = job.key_format
    most = made.least_step - 1 if tolerant else 0
    return [
        door
        for door, cylinder in enumerate(job.pinning)
        if max(distances(bitting, cylinder, made)) <= most
    ]


def combinations(job: Job, tolerant: bool) -> list[int]:
    """Per door, how many cuttable bittings open it."""
    made = job.key_format
    counts = [0] * len(job.pinning)
    for bitting in cuttable(made.chambers, made.levels, made.macs):
        for door in opened(job, bitting, tolerant):
            counts[door] += 1
    return counts


def histogram(job: Job, tolerant: bool) -> Counter[int]:
    """Keys by the number of doors they open."""
    made = job.key_format
    return Counter(
        len(opened(job, bitting, tolerant))
        for bitting in cuttable(made.chambers, made.levels, made.macs)
    )
