"""Seconds, pages and memory of the sheets of large jobs, by kind of work.

Jobs are the proof's own trees, two copies a key, proved first. ``order`` is what other stages work
out for the sheets, the audit among it; ``sheets`` is composing and setting them. Memory is the peak
of this process and of the typesetter's together.
"""

import io
import resource
from dataclasses import replace
from pathlib import Path

import pypdf

from bench.bench_proof import laboratory, pinned, tree
from bench.kit import Record, keep, timed
from pinloom.core.job import Job
from pinloom.core.stacks import PinnedCylinder
from pinloom.pinning import with_driver
from pinloom.proof import prove
from pinloom.sheets import make
from pinloom.workflow.sheets import order_for

#: areas, groups, doors a group
SHAPES = ((3, 4, 25), (5, 10, 20))
QUICK = ((2, 3, 5),)
MOST_SECONDS = 60
MOST_MB = 1_000


def job_of(shape: tuple[int, int, int]) -> Job:
    """A proved tree with drivers in its cylinders."""
    made = laboratory()
    chart, cuts = tree(*shape)
    pinning = tuple(
        PinnedCylinder(
            door=one.door,
            chambers=tuple(
                None if stack is None else with_driver(made, place, stack)
                for place, stack in enumerate(one.chambers)
            ),
        )
        for one in pinned(chart, cuts)
    )
    report = prove(chart, made, [made] * len(chart.doors), cuts, (), pinning)
    assert report.proved, "the bench's own tree must hold"
    chart = replace(chart, keys=tuple(replace(key, copies=2) for key in chart.keys))
    return Job(
        name="Alder Quay",
        revision=1,
        chart=chart,
        formats=(made,),
        bittings=tuple(cuts),
        controls=(),
        pinning=pinning,
        proof=report,
    )


def run(out_dir: Path, quick: bool) -> None:
    """Print and keep the figures of each shape; fail above the limits."""
    records: list[Record] = []
    print(f"{'doors':>6} {'keys':>6} {'pages':>6} {'order s':>8} {'sheets s':>9} {'MB':>6}")
    for shape in QUICK if quick else SHAPES:
        job = job_of(shape)
        order, working = timed(lambda job=job: order_for(job))  # type: ignore[misc]
        files, setting = timed(lambda order=order: make(order))  # type: ignore[misc]
        pages = sum(
            len(pypdf.PdfReader(io.BytesIO(data)).pages)
            for name, data in files.items()
            if name.endswith(".pdf")
        )
        peak = sum(
            resource.getrusage(who).ru_maxrss / 1000
            for who in (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN)
        )
        doors, keys = len(job.chart.doors), len(job.chart.keys)
        records.append(
            {
                "doors": doors,
                "keys": keys,
                "pages": pages,
                "order_seconds": working,
                "sheets_seconds": setting,
                "bytes": sum(map(len, files.values())),
                "peak_mb": peak,
            }
        )
        print(f"{doors:6} {keys:6} {pages:6} {working:8.1f} {setting:9.1f} {peak:6.0f}")
        assert working + setting < MOST_SECONDS
        assert peak < MOST_MB
    keep(out_dir, "sheets", records, quick=quick)
