"""The census of the key space: every cuttable key against every door, counted.

Two kinds of boxes. *Pinned*: one to three levels in each chamber, as a master-keyed cylinder has,
counted exactly; the same *tolerant* at two steps, which fills near half of all levels. Seconds are
those of the whole walk in one process: histogram, strongest keys, distinct keys. A sample of a
thousand keys is compared with a plain count. Memory is the peak of the process.

The last part audits a whole job: combinations, both censuses, margins, exposure and standards.
"""

import resource
from functools import partial
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from bench.bench_proof import laboratory, pinned, tree
from bench.kit import Record, keep, timed
from pinloom.audit import Reach, audit
from pinloom.audit.census import census_of, doors_opened
from pinloom.core.job import Job
from pinloom.proof import prove

#: doors, positions, MACS, seconds to stay under
SIZES = ((5_000, 6, 9, 1.0), (1_000, 7, 9, 3.0), (20_000, 7, 9, 60.0))
QUICK = ((500, 5, 9, 1.0),)
LEVELS = 10
SHAPES = ((3, 4, 30), (10, 20, 100))


def boxes(doors: int, positions: int, tolerance: int, seed: int = 0) -> NDArray[np.bool_]:
    """Random stacks of one to three levels, widened by a tolerance in steps."""
    rng = np.random.default_rng(seed)
    flags = np.zeros((doors, positions, LEVELS), dtype=np.bool_)
    at = rng.integers(0, LEVELS, size=(doors, positions, 3))
    used = np.arange(3) < rng.integers(1, 4, size=(doors, positions, 1))
    for cut in range(3):
        for shift in range(-tolerance, tolerance + 1):
            levels = at[:, :, cut] + shift
            inside = used[:, :, cut] & (levels >= 0) & (levels < LEVELS)
            door, position = np.nonzero(inside)
            flags[door, position, levels[inside]] = True
    return flags


def _sample_is_right(flags: NDArray[np.bool_], macs: int) -> bool:
    """A thousand random keys counted plainly, against the walk."""
    positions = flags.shape[1]
    numbers = np.random.default_rng(1).integers(0, LEVELS**positions, size=1000)
    wanted = np.sort(np.unique(numbers))
    for first, counts in doors_opened(flags, macs):
        low, high = np.searchsorted(wanted, [first, first + len(counts)])
        for number in map(int, wanted[low:high]):
            levels = [int(digit) for digit in str(number).zfill(positions)]
            legal = all(abs(a - b) <= macs for a, b in zip(levels, levels[1:], strict=False))
            plain = int(flags[:, np.arange(positions), levels].all(axis=1).sum())
            if counts[number - first] != (plain if legal else -1):
                return False
    return True


def _peak() -> float:
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1000


def _walk(doors: int, positions: int, macs: int, limit: float, tolerance: int) -> Record:
    flags = boxes(doors, positions, tolerance)
    found, seconds = timed(lambda: census_of(flags, macs, Reach.EXACT, []))
    assert found is not None
    assert _sample_is_right(flags, macs), "the walk and a plain count differ"
    kind = "tolerant" if tolerance else "exact"
    print(
        f"{kind:>9} {doors:7} {found.keys:10,} {seconds:8.2f} {limit:6.0f} {_peak():6.0f}"
        f" {found.opening:11,}"
    )
    return {
        "kind": kind,
        "doors": doors,
        "keys": found.keys,
        "seconds": seconds,
        "limit": limit,
        "peak_mb": _peak(),
        "opening": found.opening,
    }


def _job(shape: tuple[int, int, int]) -> Job:
    chart, cuts = tree(*shape)
    made = laboratory()
    pinning = pinned(chart, cuts)
    return Job(
        name="bench",
        revision=1,
        chart=chart,
        formats=(made,),
        bittings=tuple(cuts),
        controls=(),
        pinning=tuple(pinning),
        proof=prove(chart, made, [made] * len(chart.doors), cuts, (), pinning),
    )


def run(out_dir: Path, quick: bool) -> None:
    """Walk each size both ways, audit each job, print and keep the figures."""
    records: list[Record] = []
    print(f"{'':>9} {'doors':>7} {'keys':>10} {'s':>8} {'limit':>6} {'MB':>6} {'opening':>11}")
    for doors, positions, macs, limit in QUICK if quick else SIZES:
        for tolerance in (0, 1):
            records.append(_walk(doors, positions, macs, limit, tolerance))
    for shape in SHAPES[:1] if quick else SHAPES:
        job = _job(shape)
        _, seconds = timed(partial(audit, job))
        doors, keys = len(job.chart.doors), len(job.chart.keys)
        print(f"{'audit':>9} {doors:7} {keys:10,} {seconds:8.2f} {'':>6} {_peak():6.0f}")
        records.append(
            {"kind": "audit", "doors": doors, "keys": keys, "seconds": seconds, "peak_mb": _peak()}
        )
    keep(out_dir, "census", records, quick=quick)
